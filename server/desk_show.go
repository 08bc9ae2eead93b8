package server

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"skepwood/analytics/wood"
	"skepwood/db"
)

// deskPage holds the desk calculators: five short questions on one page, each
// asked by its address alone, so that an answer can be kept as a bookmark.
type deskPage struct {
	base
	Forms []deskForm
}

// deskForm is one question as typed, with its answer once asked.
type deskForm struct {
	Ask, Title, Lead string
	Form             form
	Answer           *deskAnswer
}

// deskAnswer is an answer laid out for reading; the figures are those of the
// functions that the commands call too.
type deskAnswer struct {
	Lines          []deskLine
	Notes, Sources []string
}

type deskLine struct{ Label, Value string }

func (a *deskAnswer) line(label, value string) {
	a.Lines = append(a.Lines, deskLine{label, value})
}

func (a *deskAnswer) note(text string) { a.Notes = append(a.Notes, text) }

// fromMemory warns of figures that nobody has checked on a page.
func (a *deskAnswer) fromMemory(status wood.Status) {
	if status == wood.FromMemory {
		a.note("A figure of this wood is from memory, not read on any page.")
	}
}

// deskTool is one calculator.
type deskTool struct {
	ask, title, lead string
	fields           []db.ColumnInfo
	// answer asks; a fault it keeps in the input goes before one it returns.
	answer func(*deskInput) (deskAnswer, error)
	// blames leads a fault of the answer to the field that caused it: words of
	// the fault, then the field.
	blames [][2]string
}

// deskInput reads what was typed and keeps every fault, so that all are told
// at once.
type deskInput struct {
	env    db.Env
	values map[string]string
	faults map[string]string
}

func (in *deskInput) fault(name string, err error) {
	if err != nil {
		in.faults[name] = err.Error()
	}
}

// need notes that a field was left empty.
func (in *deskInput) need(names ...string) {
	for _, name := range names {
		if in.values[name] == "" {
			in.fault(name, errors.New("nothing is written; fill it in"))
		}
	}
}

// length reads a length; an empty field is 0.
func (in *deskInput) length(name string) wood.Length {
	if in.values[name] == "" {
		return 0
	}
	l, err := wood.ParseLength(in.values[name], in.env.Length)
	if err == nil && l == 0 {
		err = errors.New("give a size above 0")
	}
	in.fault(name, err)
	return l
}

// mass reads a mass; an empty field is 0.
func (in *deskInput) mass(name string) wood.Mass {
	if in.values[name] == "" {
		return 0
	}
	m, err := wood.ParseMass(in.values[name], wood.Gram)
	in.fault(name, err)
	return m
}

// temperature reads a temperature; an empty field is nil.
func (in *deskInput) temperature(name string) *wood.Celsius {
	if in.values[name] == "" {
		return nil
	}
	bare := wood.UnitFahrenheit
	if in.env.Temperature == "C" {
		bare = wood.UnitCelsius
	}
	t, err := wood.ParseTemperature(in.values[name], bare)
	in.fault(name, err)
	return &t
}

// percent reads a percentage; an empty field is nil.
func (in *deskInput) percent(name string) *float64 {
	if in.values[name] == "" {
		return nil
	}
	p, err := wood.ParsePercent(in.values[name])
	in.fault(name, err)
	return &p
}

// whole reads a count from 1 up; an empty field is fallback.
func (in *deskInput) whole(name string, fallback int) int {
	if in.values[name] == "" {
		return fallback
	}
	n, err := strconv.Atoi(in.values[name])
	if err != nil || n < 1 {
		in.fault(name, errors.New("is not a whole number from 1 up"))
	}
	return n
}

func (a *app) deskShow(w http.ResponseWriter, r *http.Request) error {
	page := &deskPage{base: a.base(r, "Desk")}
	q := r.URL.Query()
	status := http.StatusOK
	for _, tool := range deskTools {
		f := tool.lay(q, page.Env)
		if len(f.Form.Faults) > 0 {
			status = http.StatusUnprocessableEntity
		}
		page.Forms = append(page.Forms, f)
	}
	return a.render(w, status, "desk_show", page)
}

// lay fills the tool's form from the address, and answers where it was asked.
func (t deskTool) lay(q url.Values, env db.Env) deskForm {
	out := deskForm{Ask: t.ask, Title: t.title, Lead: t.lead}
	in := &deskInput{env: env, values: map[string]string{}, faults: map[string]string{}}
	for _, c := range t.fields {
		in.values[c.Name] = strings.TrimSpace(q.Get(t.ask + "-" + c.Name))
	}
	out.Form = newForm(t.fields, t.ask+"-", in.values, nil)
	if q.Get("ask") != t.ask {
		return out
	}
	answer, err := t.answer(in)
	if len(in.faults) == 0 && err != nil {
		in.faults[t.blamed(err)] = err.Error()
	}
	if len(in.faults) == 0 {
		out.Answer = &answer
		return out
	}
	out.Form.blame(in.faults)
	return out
}

// blamed is the field that a fault of the answer stands beside; the first one
// where the fault is about the question as a whole.
func (t deskTool) blamed(err error) string {
	text := err.Error()
	var limits *wood.RangeError
	var unknown *wood.SpeciesError
	switch {
	case errors.As(err, &unknown):
		return "species"
	case errors.As(err, &limits):
		text = limits.What // the rest of its words may name other fields
	}
	for _, b := range t.blames {
		if strings.Contains(text, b[0]) {
			return b[1]
		}
	}
	return t.fields[0].Name
}

// blame puts faults beside the fields they are about.
func (f *form) blame(faults map[string]string) {
	for i := range f.Fields {
		item := &f.Fields[i]
		if item.Error = faults[item.Name]; item.Error != "" {
			f.Faults = append(f.Faults, formFault{ID: item.ID, Text: item.Label + ": " + item.Error})
		}
	}
}
