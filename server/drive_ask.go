package server

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"skepwood/analytics/yield"
	"skepwood/db"
)

// driveQuestion is what a person asks of the next drive: figures, drives left in
// the season, and a place that is not in the book.
type driveQuestion struct {
	terms  yield.Terms
	drives int
	place  *yield.Source
}

// differs reports whether anything was asked that the book does not say.
func (q driveQuestion) differs(m *yield.Model) bool {
	return q.terms != m.Terms() || q.drives != m.Horizon() || q.place != nil
}

// newPlace is what a place that is not in the book is called.
const newPlace = "A new place"

// askColumns are the figures that a person may change to see what if.
func askColumns(env db.Env, kinds []string) []db.ColumnInfo {
	currency := env.Currency
	columns := []db.ColumnInfo{
		{Name: "mile", Label: "Cost of a mile, " + currency, InputMode: "decimal", Help: "Fuel and wear."},
		{Name: "price", Label: "Price of a board foot bought instead, " + currency, InputMode: "decimal", Help: "Of wood usable inside."},
		{Name: "hour", Label: "Worth of your hour, " + currency, InputMode: "decimal", Help: "0: the Saturday is the point."},
		{Name: "lot", Label: "Minutes more for each lot", InputMode: "text", Help: "A saw instead of a bar: -10."},
		{Name: "home", Label: "Worth of that day at home, " + currency, InputMode: "decimal", Help: "What every drive is compared with."},
		{Name: "drives", Label: "Drives left in the season", InputMode: "numeric", Help: "This one included. The more are left, the more finding out is worth."},
		{Name: "far", Label: "A new place: extra " + env.Distance + " there and back", InputMode: "decimal", Help: "One that is not in the book. Empty: none."},
	}
	if len(kinds) > 0 {
		kind := db.ColumnInfo{Name: "kind", Label: "A new place: kind of business", Help: "It takes after the places of its kind."}
		for _, k := range kinds {
			kind.Options = append(kind.Options, db.Option{Value: k, Label: k})
		}
		columns = append(columns, kind)
	}
	return columns
}

// shownFigures are the figures that hold now, as the form shows them.
func shownFigures(m *yield.Model) map[string]string {
	now := m.Terms()
	unit := yield.MinorPerMajor(now.Currency)
	return map[string]string{
		"mile": trimmedNumber(now.Mile / unit), "price": trimmedNumber(now.Inside * yield.CubicMetresPerBoardFoot / unit),
		"hour": trimmedNumber(now.Hour / unit), "lot": trimmedNumber(now.LotMinutes), "home": trimmedNumber(now.Home / unit),
		"drives": strconv.Itoa(m.Horizon()), "far": "", "kind": "",
	}
}

// ask reads the question from the address; what was typed and what is wrong with
// it stand in the form. A figure that reads as it stands on the page is left exactly
// as it is.
func (p *drivePage) ask(r *http.Request) (driveQuestion, db.FieldErrors) {
	model := p.Ranking.Next.Model
	now, shown := model.Terms(), shownFigures(model)
	asked, unit := driveQuestion{terms: now, drives: model.Horizon()}, yield.MinorPerMajor(now.Currency)
	typed := make(map[string]string, len(shown))
	for name, value := range shown {
		typed[name] = value
		if text := strings.TrimSpace(r.URL.Query().Get(name)); text != "" {
			typed[name] = text
		}
	}
	var faults db.FieldErrors
	read := func(name string, low, high float64, set func(float64)) {
		if typed[name] == shown[name] {
			return
		}
		v, fault := readNumber(name, typed[name], low, high)
		if fault != nil {
			faults = append(faults, fault)
			return
		}
		set(v)
	}
	read("mile", 0, dearest, func(v float64) { asked.terms.Mile = v * unit })
	read("price", 0, dearest, func(v float64) { asked.terms = dearerWood(asked.terms, v*unit/yield.CubicMetresPerBoardFoot) })
	read("hour", 0, dearest, func(v float64) { asked.terms.Hour = v * unit })
	read("lot", -yield.MaxMinutes, yield.MaxMinutes, func(v float64) { asked.terms.LotMinutes = v })
	read("home", 0, dearest, func(v float64) { asked.terms.Home = v * unit })
	const longest = 1000
	read("drives", 1, longest, func(v float64) {
		if asked.drives = int(v); float64(asked.drives) != v {
			faults = append(faults, &db.FieldError{Field: "drives", Value: typed["drives"], Problem: "is not a whole number", Remedy: "enter 1 to 1000"})
		}
	})
	kinds := p.Ranking.Kinds()
	perUnit := milesPerUnit(p.Env)
	read("far", 0, yield.MaxMiles/perUnit, func(v float64) { // no distance at all means the usual one to the model
		asked.place = &yield.Source{ID: newPlace, Miles: max(v*perUnit, 1e-6)}
	})
	switch {
	case typed["kind"] == "":
	case !slices.Contains(kinds, typed["kind"]):
		faults = append(faults, &db.FieldError{Field: "kind", Value: typed["kind"], Problem: "is no kind of the book", Remedy: "choose one of the list"})
	case asked.place != nil:
		asked.place.Kind = typed["kind"]
		asked.place.ID = newPlace + " (" + typed["kind"] + ")"
	}
	if _, err := model.AnswersAt(asked.terms); len(faults) == 0 && err != nil {
		faults = append(faults, &db.FieldError{Field: "lot", Value: typed["lot"], Problem: "changes nothing: no trip notes how many lots came", Remedy: "log the lots of a pickup first"})
	}
	p.Form = newForm(askColumns(p.Env, kinds), "", typed, faults)
	return asked, faults
}

// dearerWood is terms with another price of inside wood; that of outside wood goes
// with it.
func dearerWood(t yield.Terms, inside float64) yield.Terms {
	if t.Inside > 0 {
		t.Outside *= inside / t.Inside
	} else {
		t.Outside = inside
	}
	t.Inside = inside
	return t
}

// milesPerUnit is how many miles the keeper's unit of distance has.
func milesPerUnit(env db.Env) float64 {
	if env.Distance == "km" {
		return 1000 / metresPerMile
	}
	return 1
}

// The dearest price that can be typed, in units of the currency.
const dearest = 1e6

// trimmedNumber prints a number with up to four decimals.
func trimmedNumber(v float64) string {
	return strconv.FormatFloat(math.Round(v*1e4)/1e4, 'f', -1, 64)
}

// readNumber reads a number between two bounds; a comma may stand for the
// decimal point.
func readNumber(name, text string, low, high float64) (float64, *db.FieldError) {
	v, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err != nil || math.IsNaN(v) {
		return 0, &db.FieldError{Field: name, Value: text, Problem: "is not a number", Remedy: "enter digits, such as 12.5"}
	}
	if v < low || v > high {
		return 0, &db.FieldError{Field: name, Value: text, Problem: "is out of range", Remedy: fmt.Sprintf("enter %s to %s", trimmedNumber(low), trimmedNumber(high))}
	}
	return v, nil
}
