package server

import (
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"skepwood/analytics/yield"
	"skepwood/db"
)

// roundPage plans one day's drive to several sources.
type roundPage struct {
	base
	Ranking *db.Ranking
	Problem string
	Form    form
	Places  []roundPlace
	// Between are typed distances between two sources, one on a line.
	Between string
	// Plan is nil where nothing could be planned.
	Plan *yield.RoundPlan
	// Route is the plan with names; Query repeats the question for the sheet.
	Route []roundLeg
	Query template.URL
	// Guessed counts pairs of chosen stops that no distance is known between.
	Guessed int
	terms   yield.Terms
}

// Exactly is the largest number of places that is planned exactly.
func (*roundPage) Exactly() int { return yield.ExactStops }

// Ticked reports whether any place may be on the round.
func (p *roundPage) Ticked() bool {
	return slices.ContainsFunc(p.Places, func(place roundPlace) bool { return place.Chosen })
}

// roundPlace is a source that may be on the round.
type roundPlace struct {
	Source  db.RankedSource
	ID      string
	Chosen  bool
	Located bool
	// Road is the usual extra distance there and back, as typed or as known.
	Road, Error string
	place       yield.Place
	miles       float64
}

// roundLeg is one stop of the plan.
type roundLeg struct {
	yield.RoundStop
	Source db.RankedSource
}

func (a *app) roundShow(w http.ResponseWriter, r *http.Request) error {
	page, err := a.planRound(r)
	if err != nil {
		return err
	}
	if len(page.Form.Faults) > 0 {
		return a.render(w, http.StatusUnprocessableEntity, "round_show", page)
	}
	return a.show(w, "round_show", page)
}

// planRound reads the question from the address and answers it; without one
// every source may be on the round.
func (a *app) planRound(r *http.Request) (*roundPage, error) {
	page := &roundPage{base: a.base(r, "Plan a round"), Between: r.URL.Query().Get("between")}
	var err error
	if page.Ranking, page.Problem, err = a.outlook(r, page.Env); err != nil || page.Ranking.Next == nil {
		return page, err
	}
	if err := a.roundPlaces(r, page); err != nil {
		return nil, err
	}
	page.terms = page.Ranking.Next.Model.Terms()
	round, faults := page.question(r.URL.Query())
	if len(faults) > 0 {
		return page, nil
	}
	plan, err := yield.PlanRound(round)
	if err != nil {
		page.Form.Faults = append(page.Form.Faults, formFault{Text: page.Ranking.Named(err.Error())})
		return page, nil
	}
	page.Plan = plan
	for _, s := range plan.Stops {
		page.Route = append(page.Route, roundLeg{RoundStop: s, Source: *page.Ranking.Source(s.ID)})
	}
	page.Query = template.URL(r.URL.Query().Encode()) //nolint:gosec // encoded anew: nothing but escaped pairs
	return page, nil
}

// roundPlaces lists the sources, best first, with where they are.
func (a *app) roundPlaces(r *http.Request, page *roundPage) error {
	sources, err := a.store.SourceList(r.Context())
	if err != nil {
		return err
	}
	byID := make(map[string]db.Source, len(sources))
	for _, s := range sources {
		byID[s.ID.String()] = s
	}
	q := r.URL.Query()
	asked := q.Has("hours")
	for _, s := range page.Ranking.Expected() {
		p := roundPlace{Source: s, ID: s.ID.String(), Chosen: !asked && len(page.Places) < yield.MaxStops, Road: roadText(page.Env, s.Answer.Miles*metresPerMile)}
		p.miles = s.Answer.Miles
		if src := byID[p.ID]; src.Latitude != nil && src.Longitude != nil {
			p.Located, p.place = true, yield.Place{Lat: *src.Latitude, Lon: *src.Longitude}
		}
		for _, chosen := range q["stop"] {
			p.Chosen = p.Chosen || chosen == p.ID
		}
		if typed := strings.TrimSpace(q.Get("road-" + p.ID)); typed != "" && typed != p.Road {
			p.Road = typed
			v, fault := readNumber("road-"+p.ID, typed, 0, yield.MaxMiles)
			if fault != nil {
				p.Error = fault.Problem + "; " + fault.Remedy
			}
			p.miles = v * milesPerUnit(page.Env)
		}
		page.Places = append(page.Places, p)
	}
	return nil
}

// roundColumns are the figures of the day.
func roundColumns(env db.Env) []db.ColumnInfo {
	return []db.ColumnInfo{
		{Name: "hours", Label: "Hours for driving and loading", InputMode: "decimal"},
		{Name: "room", Label: "Room in the vehicle, " + volumeUnit(env), InputMode: "decimal", Help: "Empty: enough for all. The settings keep it."},
		{Name: "speed", Label: "Speed door to door, " + env.Distance + " an hour", InputMode: "decimal", Help: "Common practice, no source: edit it."},
		{Name: "detour", Label: "Road for one of straight line", InputMode: "decimal", Help: "Between places with coordinates. 1.3 is common practice without a source: edit it."},
		{Name: "lat", Label: "Latitude of home", InputMode: "text", Help: "Degrees; empty: typed distances are used. The settings keep it."},
		{Name: "lon", Label: "Longitude of home", InputMode: "text"},
	}
}

// usualHours is how long a day of driving is taken to be; common practice, no
// source, to be edited.
const usualHours = 6

// question turns what was typed into a round; faults stand in the form too.
func (p *roundPage) question(q url.Values) (yield.Round, db.FieldErrors) {
	round := yield.Round{Hours: usualHours, Speed: yield.DefaultSpeed, Detour: yield.DefaultDetour, Mile: p.terms.Mile, Hour: p.terms.Hour, Stay: p.terms.Home}
	perUnit := milesPerUnit(p.Env)
	values := p.usual()
	var faults db.FieldErrors
	read := func(name string, low, high float64, set func(float64)) bool {
		typed := strings.TrimSpace(q.Get(name))
		if !q.Has(name) || typed == "" && name != "room" && name != "lat" && name != "lon" { // those may be left open
			typed = values[name]
		}
		if values[name] = typed; typed == "" {
			return false
		}
		v, fault := readNumber(name, typed, low, high)
		if fault != nil {
			faults = append(faults, fault)
			return false
		}
		set(v)
		return true
	}
	var home yield.Place
	read("hours", 0.25, 24, func(v float64) { round.Hours = v })
	read("room", 0, 1e6, func(v float64) { round.Vehicle = v / volumeIn(p.Env, 1) })
	read("speed", 1, 100/perUnit, func(v float64) { round.Speed = v * perUnit })
	read("detour", 1, 5, func(v float64) { round.Detour = v })
	north := read("lat", -90, 90, func(v float64) { home.Lat = v })
	east := read("lon", -180, 180, func(v float64) { home.Lon = v })
	if north != east && len(faults) == 0 {
		faults = append(faults, &db.FieldError{Field: "lon", Value: q.Get("lon"), Problem: "stands without its partner", Remedy: "give both latitude and longitude of home, or neither"})
	}
	between, fault := p.readBetween()
	if fault != nil {
		faults = append(faults, fault)
	}
	columns := append(roundColumns(p.Env), db.ColumnInfo{Name: "between", Label: "Distances between sources, " + p.Env.Distance, Long: true,
		Help: "One on a line, such as: Harbour Tile to Mill Yard: 4. Where none is typed and one has no coordinates, the way past home is counted."})
	values["between"] = p.Between
	p.Form = newForm(columns, "", values, faults)
	for _, place := range p.Places {
		if place.Chosen && place.Error != "" {
			p.Form.Faults = append(p.Form.Faults, formFault{ID: "road-" + place.ID, Text: place.Source.Name + ": " + place.Error})
			faults = append(faults, &db.FieldError{Field: "road-" + place.ID})
		}
	}
	if len(faults) > 0 {
		return round, faults
	}
	chosen, fault := p.stops(&round)
	if fault != nil {
		p.Form.Faults = append(p.Form.Faults, formFault{Text: fault.Error()})
		return round, db.FieldErrors{fault}
	}
	located := north && east
	p.measure(&round, chosen, distances{home: home, located: located, between: between})
	return round, nil
}

// usual are the figures of a day that nothing was typed for: those of the settings
// where they say.
func (p *roundPage) usual() map[string]string {
	perUnit := milesPerUnit(p.Env)
	values := map[string]string{"hours": trimmedNumber(usualHours), "room": "", "speed": trimmedNumber(yield.DefaultSpeed / perUnit), "detour": trimmedNumber(yield.DefaultDetour), "lat": "", "lon": ""}
	k := p.Keeper
	if k.HomeLatitude != nil && k.HomeLongitude != nil {
		values["lat"], values["lon"] = plainNumber(*k.HomeLatitude, -1), plainNumber(*k.HomeLongitude, -1)
	}
	if k.RoadFactor != nil {
		values["detour"] = trimmedNumber(*k.RoadFactor)
	}
	if k.VehicleM3 != nil {
		values["room"] = trimmedNumber(volumeIn(p.Env, *k.VehicleM3))
	}
	return values
}

// stops asks the model what each chosen source brings.
func (p *roundPage) stops(round *yield.Round) ([]roundPlace, *db.FieldError) {
	var chosen []roundPlace
	for _, place := range p.Places {
		if !place.Chosen {
			continue
		}
		stop, err := p.Ranking.Next.Model.Stop(place.ID)
		if err != nil {
			return nil, &db.FieldError{Problem: err.Error(), Remedy: "leave it out"}
		}
		stop.Place = place.place
		round.Stops = append(round.Stops, stop)
		chosen = append(chosen, place)
	}
	return chosen, nil
}

// distances are what is known about the ways of a round, in miles.
type distances struct {
	home    yield.Place
	located bool
	between map[[2]string]float64
}

// measure fills in every distance: typed ones first, then straight lines times
// the detour where both ends have coordinates, then the way past home.
func (p *roundPage) measure(round *yield.Round, chosen []roundPlace, known distances) {
	n := len(chosen) + 1
	round.Miles = make([][]float64, n)
	for i := range round.Miles {
		round.Miles[i] = make([]float64, n)
	}
	set := func(i, j int, d float64) { round.Miles[i][j], round.Miles[j][i] = d, d }
	for i, place := range chosen {
		d := place.miles / 2
		if known.located && place.Located {
			d = yield.StraightMiles(known.home, place.place) * round.Detour
		}
		set(0, i+1, d)
	}
	for i, a := range chosen {
		for j := i + 1; j < len(chosen); j++ {
			b := chosen[j]
			d, typed := known.between[pairOf(a.ID, b.ID)]
			switch {
			case typed:
			case a.Located && b.Located:
				d = yield.StraightMiles(a.place, b.place) * round.Detour
			default:
				d = round.Miles[0][i+1] + round.Miles[0][j+1]
				p.Guessed++
			}
			set(i+1, j+1, d)
		}
	}
}

// pairOf names two sources in either order.
func pairOf(a, b string) [2]string {
	if a > b {
		a, b = b, a
	}
	return [2]string{a, b}
}

// readBetween reads lines such as "Harbour Tile to Mill Yard: 4".
func (p *roundPage) readBetween() (map[[2]string]float64, *db.FieldError) {
	out := map[[2]string]float64{}
	ids := make(map[string]string, len(p.Places))
	for _, place := range p.Places {
		ids[strings.ToLower(place.Source.Name)] = place.ID
	}
	for number, line := range strings.Split(p.Between, "\n") {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		bad := func(problem, remedy string) *db.FieldError {
			return &db.FieldError{Field: "between", Value: line, Problem: "line " + strconv.Itoa(number+1) + " " + problem, Remedy: remedy}
		}
		colon := strings.LastIndex(line, ":")
		if colon < 0 {
			return nil, bad("has no colon", "write it like: Harbour Tile to Mill Yard: 4")
		}
		a, b, found := pairNamed(ids, line[:colon])
		if !found {
			return nil, bad("does not name two sources of the book", "write it like: Harbour Tile to Mill Yard: 4")
		}
		v, fault := readNumber("between", line[colon+1:], 0, yield.MaxMiles)
		if fault != nil {
			return nil, bad(fault.Problem, fault.Remedy)
		}
		out[pairOf(a, b)] = v * milesPerUnit(p.Env)
	}
	return out, nil
}

// pairNamed splits "one to other" where both sides are known names: a name may
// hold the word itself.
func pairNamed(ids map[string]string, text string) (a, b string, found bool) {
	text = strings.ToLower(text)
	const word = " to "
	for from := 0; ; {
		i := strings.Index(text[from:], word)
		if i < 0 {
			return "", "", false
		}
		a, left := ids[strings.TrimSpace(text[:from+i])]
		b, right := ids[strings.TrimSpace(text[from+i+len(word):])]
		if left && right && a != b {
			return a, b, true
		}
		from += i + 1
	}
}

// roundSheet sends the plan, stop by stop.
func (a *app) roundSheet(w http.ResponseWriter, r *http.Request) error {
	page, err := a.planRound(r)
	if err != nil {
		return err
	}
	if len(page.Form.Faults) > 0 {
		return &statusError{http.StatusUnprocessableEntity, page.Form.Faults[0].Text}
	}
	money := func(v float64) string { return minorText(v, page.Ranking.Currency) }
	unit := strings.ReplaceAll(volumeUnit(page.Env), " ", "_")
	rows := [][]string{{"place", "source", "trips", page.Env.Distance + "_from_last", "expected_load_" + unit, "currency", "adds", "adds_low_50", "adds_high_50", "adds_low_90", "adds_high_90",
		"round_net", "round_net_low_50", "round_net_high_50", "round_net_low_90", "round_net_high_90"}}
	for i, leg := range page.Route {
		rows = append(rows, []string{strconv.Itoa(i + 1), leg.Source.Name, strconv.Itoa(leg.Source.Answer.N), roadText(page.Env, leg.Miles*metresPerMile), volumeText(page.Env, leg.Load),
			page.Ranking.Currency, money(leg.Marginal), money(leg.Adds.Half.Low), money(leg.Adds.Half.High), money(leg.Adds.Most.Low), money(leg.Adds.Most.High),
			money(page.Plan.Net.Mean), money(page.Plan.Net.Half.Low), money(page.Plan.Net.Half.High), money(page.Plan.Net.Most.Low), money(page.Plan.Net.Most.High)})
	}
	return sendTable(w, "round", rows)
}
