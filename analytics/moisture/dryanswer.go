package moisture

import (
	"fmt"
	"math"
	"time"

	"skepwood/analytics/wood"
)

// DryQuestion asks when the stack of a file of readings is ready.
type DryQuestion struct {
	File DryFile
	// Species and ThicknessMM serve where the file names none.
	Species     string
	ThicknessMM float64
	// Air is the equilibrium moisture with its doubt, percent; the zero value is
	// DefaultAir.
	Air Estimate
	// Target is the mean moisture wanted, percent; zero means TargetFor
	// outside.
	Target float64
	// AsIs takes the percentages as corrected already. Else those of rows that
	// name a species or a wood temperature, or whose species is given above,
	// are corrected as readings of a pin meter on the Douglas-fir scale.
	AsIs bool
}

// defaultAir is the middle of the published end points outdoors under cover,
// 8 to 10 % in dry and 12 to 14 % in damp country (Oregon State University
// Extension EM 8612, read), with a doubt that spans them.
var defaultAir = Estimate{11, 2}

// DefaultAir is the equilibrium moisture taken where none is given, percent.
func DefaultAir() Estimate { return defaultAir }

// DryDate is a date of an answer, on the clock of the file: a day counted from
// the first reading, and a date if the file has dates.
type DryDate struct {
	Day  *float64 `json:"day"`
	Date string   `json:"date,omitempty"`
}

// DryAnswer is the fit of a stack with its dates; percent, days, per day.
type DryAnswer struct {
	Readings  int      `json:"readings"`
	Visits    int      `json:"reading_days"`
	Corrected bool     `json:"corrected"`
	Start     Estimate `json:"start_percent"`
	// HalfTime is the time to lose half of the way to equilibrium, days, by the
	// median rate, with the ends of its 80 % interval.
	HalfTime [3]float64 `json:"half_time_days"`
	LogRate  Estimate   `json:"ln_rate_per_day"`
	Air      Estimate   `json:"air_percent"`
	Target   float64    `json:"target_percent"`
	State    State      `json:"state"`
	// NotBefore, Likely and By bound an 80 % interval; a null day is none.
	NotBefore DryDate  `json:"not_before"`
	Likely    DryDate  `json:"likely"`
	By        DryDate  `json:"by"`
	PNever    float64  `json:"probability_never"`
	Next      DryDate  `json:"next_reading"`
	Plain     *DryLine `json:"least_squares,omitempty"`
	Notices   []Notice `json:"notices"`
	Sources   []string `json:"sources"`
	// Rows are the readings with what they mean.
	Rows []DryMeant `json:"rows"`
}

// DryLine is the plain least-squares fit beside the answer.
type DryLine struct {
	Start    float64  `json:"start_percent"`
	Rate     float64  `json:"rate_per_day"`
	ReadyDay *float64 `json:"ready_day"`
}

// DryMeant is one reading as written and as corrected.
type DryMeant struct {
	Line      int       `json:"line"`
	Raw       float64   `json:"raw_percent"`
	Corrected Corrected `json:"corrected"`
}

// AskDry answers q by Correct, PriorFor, Fit and Posterior.Ready, and fails as
// they do; a failing row is named by its line.
func AskDry(q DryQuestion) (DryAnswer, error) {
	if q.Air == (Estimate{}) {
		q.Air = defaultAir
	}
	// The same figure that Ready goes by, so that date and verdict agree.
	if q.Target == 0 {
		t, err := TargetFor("outside", "", "")
		if err != nil {
			return DryAnswer{}, err
		}
		q.Target = t.Mean()
	}
	out := DryAnswer{Readings: len(q.File.Rows), Target: q.Target}
	obs, err := q.observations(&out)
	if err != nil {
		return DryAnswer{}, err
	}
	prior, err := PriorFor(q.wood())
	if err != nil {
		return DryAnswer{}, err
	}
	p, err := Fit(FitInput{Obs: obs, Climate: ConstantClimate(q.Air.Mean, q.Air.SD), Prior: prior})
	if err != nil {
		return DryAnswer{}, err
	}
	dates, err := p.Ready(q.Target)
	if err != nil {
		return DryAnswer{}, err
	}
	out.fill(&q, p, dates)
	out.Sources = append(out.Sources, prior.Source)
	out.plain(&q, obs, p.Start)
	return out, nil
}

// wood is the species and thickness of the first row that names them, else
// those of the question.
func (q *DryQuestion) wood() PriorInput {
	in := PriorInput{Species: q.Species, ThicknessMM: q.ThicknessMM}
	for _, r := range q.File.Rows {
		if in.Species == "" {
			in.Species = r.Species
		}
		if in.ThicknessMM == 0 {
			in.ThicknessMM = r.ThicknessMM
		}
	}
	return in
}

// observations corrects the rows.
func (q *DryQuestion) observations(out *DryAnswer) ([]Obs, error) {
	var obs []Obs
	for _, row := range q.File.Rows {
		species := row.Species
		if species == "" {
			species = q.Species
		}
		r := Reading{At: row.At, Raw: row.Percent, Method: MethodPin, WoodTempC: row.TempC, Species: species}
		// With neither species nor temperature a correction would only add
		// what is unknown.
		if q.AsIs || species == "" && row.TempC == nil {
			// Nothing to correct by: the number is taken for moisture itself.
			r.Method = MethodOvenDry
		}
		c, err := Correct(r)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", row.Line, err)
		}
		if r.Method == MethodPin {
			out.Corrected = true
			for _, s := range c.Steps {
				out.source(s.Source)
			}
		} else {
			c.SD = defaultSD
		}
		obs = append(obs, ObsOf(r, c))
		out.Rows = append(out.Rows, DryMeant{row.Line, row.Percent, c})
	}
	return obs, nil
}

// source lists a source once.
func (a *DryAnswer) source(s string) {
	for _, have := range a.Sources {
		if have == s {
			return
		}
	}
	if s != "" {
		a.Sources = append(a.Sources, s)
	}
}

// fill copies the posterior's figures.
func (a *DryAnswer) fill(q *DryQuestion, p *Posterior, d ReadyDates) {
	on := func(t time.Time) DryDate {
		if t.IsZero() {
			return DryDate{}
		}
		first := q.File.Rows[0].At
		for _, r := range q.File.Rows {
			if r.At.Before(first) {
				first = r.At
			}
		}
		// Dated files count days from their first reading, others from their own
		// day zero.
		if q.File.Dated {
			day := t.Sub(first).Hours() / 24
			return DryDate{&day, t.Format("2006-01-02")}
		}
		day := t.Sub(Epoch()).Hours() / 24
		return DryDate{Day: &day}
	}
	const z = tableQuantile
	half := func(logK float64) float64 { return math.Ln2 / math.Exp(logK) }
	a.Visits, a.Start, a.LogRate = p.Visits, p.M0, p.LogRate
	a.HalfTime = [3]float64{half(p.LogRate.Mean + z*p.LogRate.SD), half(p.LogRate.Mean), half(p.LogRate.Mean - z*p.LogRate.SD)}
	a.Air = Estimate{q.Air.Mean + p.EMCShift.Mean, p.EMCShift.SD}
	a.State, a.PNever = d.State, d.PNever
	a.NotBefore, a.Likely, a.By, a.Next = on(d.NotBefore), on(d.Likely), on(d.By), on(p.NextReading(d))
	a.Notices = append([]Notice{}, p.Notices...)
}

// plain adds the least-squares fit where three readings allow one.
func (a *DryAnswer) plain(q *DryQuestion, obs []Obs, start time.Time) {
	var days, percent []float64
	for _, o := range obs {
		// After a wetting the plain fit too starts again from there.
		if o.Known() && !o.At.Before(start) {
			days, percent = append(days, o.At.Sub(start).Hours()/24), append(percent, o.Percent)
		}
	}
	f, err := FitPlain(days, percent, q.Air.Mean)
	if err != nil {
		return // too few readings, or none that tell a rate: the posterior stands alone
	}
	a.Plain = &DryLine{Start: f.M0, Rate: f.K}
	if day, _ := f.ReadyDay(q.Target); finite(day) {
		a.Plain.ReadyDay = &day
	}
}

// SourceDefaultAir is where DefaultAir comes from, for showing beside it.
const SourceDefaultAir = "Reeb and Brown 2007, Air- and shed-drying lumber (Oregon State University EM 8612): 8 to 10 and 12 to 14 % under cover"

// AirFrom is the equilibrium moisture of air, with its usual doubt, as
// DryQuestion takes it.
func AirFrom(t wood.Celsius, humidity float64) (Estimate, error) {
	emc, err := wood.EMC(t, humidity)
	if err != nil {
		return Estimate{}, err
	}
	return Estimate{emc, defaultClimateSD}, nil
}
