package server

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"skepwood/db"
)

// placesPage lists the places that stacks stand in.
type placesPage struct {
	base
	Places []db.Place
}

// placePage is the air of one place: what it holds wood at month by month, the
// files and figures that rest on, and the forms that bring more.
type placePage struct {
	base
	Name   string
	Stacks int
	Air    *db.PlaceAir
	Months []placeMonth
	Files  []placeFile
	// Usual are the twelve rows to type, Source and Why what goes with them.
	Usual       []usualRow
	Source, Why field
	Faults      []formFault
	// Known is true where the book has usual means to correct.
	Known  bool
	Upload loggerUpload
	NewID  string
}

// placeMonth is one month of the year as stacks of the place dry in it.
type placeMonth struct {
	Name    string
	Percent float64
	From    string
}

// placeFile is what one source of figures brought, with the faults found in it.
type placeFile struct {
	Source string
	Months []db.MonthClimate
	Days   int
	Faults []string
}

// usualRow is one month of the form of twelve.
type usualRow struct {
	Name                  string
	Temperature, Humidity field
}

func (a *app) placeList(w http.ResponseWriter, r *http.Request) error {
	page := &placesPage{base: a.base(r, "Places")}
	var err error
	if page.Places, err = a.store.Places(r.Context()); err != nil {
		return err
	}
	return a.show(w, "place_list", page)
}

func (a *app) placeShow(w http.ResponseWriter, r *http.Request) error {
	page, err := a.loadPlace(r, r.URL.Query().Get("name"))
	if err != nil {
		return err
	}
	return a.show(w, "place_show", page)
}

// placePath is the address of a place; places have names only.
func placePath(name string) string { return "/drying/place?name=" + url.QueryEscape(name) }

// loadPlace reads what the book knows of a place. A name it does not know is a
// place to begin with.
func (a *app) loadPlace(r *http.Request, name string) (*placePage, error) {
	name = strings.TrimSpace(name)
	if name == "" || len([]rune(name)) > 200 {
		return nil, &statusError{http.StatusNotFound, "There is no such place. Choose one from the list of places."}
	}
	places, err := a.store.Places(r.Context())
	if err != nil {
		return nil, err
	}
	page := &placePage{Name: name, NewID: newID().String(), Upload: newLoggerUpload(nil)}
	for _, p := range places {
		if strings.EqualFold(p.Name, name) {
			page.Name, page.Air, page.Stacks = p.Name, p.Air, p.Standing
		}
	}
	page.base = a.base(r, "Air of "+page.Name)
	page.Months, page.Files = placeMonths(page.Air), placeFiles(page.Air)
	page.layUsual(page.usualValues(), "", "", nil)
	return page, nil
}

// placeMonths says for each month what it rests on.
func placeMonths(air *db.PlaceAir) []placeMonth {
	if air == nil || !air.Known {
		return nil
	}
	out := make([]placeMonth, 12)
	for i := range out {
		m := placeMonth{Name: time.Month(i + 1).String(), Percent: air.Air.Climate.EMC[i]}
		switch {
		case air.Air.Filled[i]:
			m.From = "nothing known: the nearest months"
		case air.Air.Usual[i]:
			m.From = "usual mean"
		default:
			m.From = plural(air.Air.Days[i], "recorded day", "recorded days")
		}
		out[i] = m
	}
	return out
}

// placeFiles gathers the months by where they are from.
func placeFiles(air *db.PlaceAir) []placeFile {
	if air == nil {
		return nil
	}
	var out []placeFile
	for _, m := range air.Months {
		i := 0
		for i < len(out) && out[i].Source != m.Source {
			i++
		}
		if i == len(out) {
			out = append(out, placeFile{Source: m.Source})
		}
		f := &out[i]
		f.Months, f.Days = append(f.Months, m), f.Days+m.Days
		for _, line := range strings.Split(m.Notes, "\n") {
			if line != "" && !contains(f.Faults, line) {
				f.Faults = append(f.Faults, line)
			}
		}
	}
	return out
}

func contains(list []string, s string) bool {
	for _, v := range list {
		if v == s {
			return true
		}
	}
	return false
}

// usualValues are the usual means as the book has them, by field.
func (p *placePage) usualValues() map[string]string {
	out := make(map[string]string)
	if p.Air == nil {
		return out
	}
	for i := range p.Air.Months {
		m := &p.Air.Months[i]
		if m.First != nil {
			continue
		}
		p.Known = true
		shown := db.Climates.Values(m, p.Env)
		for _, name := range []string{"temperature", "humidity"} {
			out[db.MonthField(name, m.Month)] = shown[name]
		}
	}
	return out
}

// layUsual lays the form of twelve months out with values and faults.
func (p *placePage) layUsual(values map[string]string, source, why string, faults db.FieldErrors) {
	p.Usual, p.Faults = nil, nil
	lay := func(c db.ColumnInfo, value string) field {
		f := newForm([]db.ColumnInfo{c}, "", map[string]string{c.Name: value}, nil).Fields[0]
		if fault := faults.For(c.Name); fault != nil {
			f.Error = fault.Problem + "; " + fault.Remedy
			p.Faults = append(p.Faults, formFault{ID: f.ID, Text: c.Label + " " + f.Error})
		}
		return f
	}
	example := "55 F"
	if p.Env.Temperature == "C" {
		example = "13 C"
	}
	for m := 1; m <= 12; m++ {
		name := time.Month(m).String()
		t := db.ColumnInfo{Name: db.MonthField("temperature", m), Label: name + ", temperature", Example: example}
		h := db.ColumnInfo{Name: db.MonthField("humidity", m), Label: name + ", humidity %", Example: "70", InputMode: "decimal"}
		p.Usual = append(p.Usual, usualRow{Name: name, Temperature: lay(t, values[t.Name]), Humidity: lay(h, values[h.Name])})
	}
	p.Source = lay(db.ColumnInfo{Name: "source", Label: "Where the figures are from", Example: "station table of the county, 1991 to 2020"}, source)
	p.Why = lay(db.ColumnInfo{Name: "why", Label: "Why figures are changed", Help: "Only where you change a month that the book has."}, why)
}

// placeSave stores the usual means of a place.
func (a *app) placeSave(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadPlace(r, r.PostFormValue("name"))
	if err != nil {
		return err
	}
	in := db.UsualMonths{Place: page.Name, Source: r.PostFormValue("source")}
	values := make(map[string]string)
	for m := range 12 {
		for name, texts := range map[string]*[12]string{"temperature": &in.Temperature, "humidity": &in.Humidity} {
			id := db.MonthField(name, m+1)
			texts[m] = r.PostFormValue(id)
			values[id] = texts[m]
		}
	}
	why := r.PostFormValue("why")
	added, corrected, err := a.store.SaveUsualMonths(r.Context(), db.Edit{ID: formID(r, "id"), Keeper: page.Keeper.ID, Why: why, Env: page.Env}, in)
	if err == nil {
		done := "added"
		switch {
		case added == 0 && corrected == 0:
			done = "same"
		case added == 0:
			done = "corrected"
		}
		return seeOther(w, r, placePath(page.Name)+"&done="+done)
	}
	faults, other := asFaults(err)
	if other != nil {
		return other
	}
	page.layUsual(values, in.Source, why, faults)
	if len(page.Faults) == 0 {
		page.Faults = append(page.Faults, formFault{Text: faults.Error()})
	}
	return a.render(w, http.StatusUnprocessableEntity, "place_show", page)
}

// spanText says which days a month of records covers.
func spanText(m db.MonthClimate) string {
	if m.First == nil || m.Last == nil {
		return time.Month(m.Month).String() + " of every year"
	}
	return fmt.Sprintf("%s to %s", m.First.Format("2 Jan"), m.Last.Format("2 Jan 2006"))
}
