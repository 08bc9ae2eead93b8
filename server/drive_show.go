package server

import (
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"

	"skepwood/analytics/yield"
	"skepwood/db"
)

// drivePage says what each choice of the coming Saturday is worth, today and
// with other figures.
type drivePage struct {
	base
	Ranking *db.Ranking
	// Problem is why nothing can be said, in words.
	Problem string
	Form    form
	Choices []driveChoice
	// Asked says that other figures were typed; Moves and Flips answer them.
	Asked bool
	Moves []driveMove
	Flips []string
	// First and Second lead the ranking of today.
	First, Second string
}

// driveChoice is one choice with the answer it rests on, nil for staying home.
type driveChoice struct {
	yield.Choice
	Source *db.RankedSource
	Answer *yield.Answer
}

// driveMove is a source that changed its place.
type driveMove struct {
	Name     string
	From, To int
}

func (a *app) driveShow(w http.ResponseWriter, r *http.Request) error {
	page := &drivePage{base: a.base(r, "Next drive")}
	var err error
	if page.Ranking, page.Problem, err = a.outlook(r, page.Env); err != nil {
		return err
	}
	if page.Ranking.Next == nil {
		return a.show(w, "drive_show", page)
	}
	model := page.Ranking.Next.Model
	terms, faults := readTerms(r, model.Terms())
	page.Form = newForm(termColumns(page.Env.Currency), "", termValues(r, model.Terms()), faults)
	if len(faults) > 0 {
		page.fill(page.Ranking.Next.Answers)
		return a.render(w, http.StatusUnprocessableEntity, "drive_show", page)
	}
	what, err := model.WhatIf(terms)
	if err != nil {
		return err
	}
	page.Asked = terms != model.Terms()
	page.Ranking.NameAnswers(what.After)
	page.fill(what.After)
	page.compare(what)
	return a.show(w, "drive_show", page)
}

// outlook is the ranking with its outlook, or in words why there is none.
func (a *app) outlook(r *http.Request, env db.Env) (*db.Ranking, string, error) {
	ranking, err := a.store.Ranking(r.Context(), env.Currency)
	if problem := valueProblem(err); problem != "" {
		return &db.Ranking{Currency: env.Currency}, "Nothing can be valued: " + problem + ".", nil
	}
	if err != nil {
		return nil, "", err
	}
	return ranking, ranking.Why, nil
}

func (p *drivePage) fill(answers *yield.Answers) {
	byID := make(map[string]*yield.Answer, len(answers.Sources))
	for i := range answers.Sources {
		byID[answers.Sources[i].SourceID] = &answers.Sources[i]
	}
	for _, c := range answers.Next.Choices {
		p.Choices = append(p.Choices, driveChoice{Choice: c, Source: p.Ranking.Source(c.SourceID), Answer: byID[c.SourceID]})
	}
}

// compare says what changed place and where the first two would.
func (p *drivePage) compare(what *yield.WhatIf) {
	for _, m := range what.Moves {
		p.Moves = append(p.Moves, driveMove{Name: p.Ranking.Named(m.SourceID), From: m.From, To: m.To})
	}
	if len(what.Before.Sources) < 2 {
		return
	}
	p.First, p.Second = p.Ranking.Named(what.Before.Sources[0].SourceID), p.Ranking.Named(what.Before.Sources[1].SourceID)
	for _, f := range what.Flips {
		p.Flips = append(p.Flips, flipText(f, p.Env.Currency))
	}
}

// flipText says at which value of one figure the first two change places.
func flipText(f yield.Flip, currency string) string {
	unit := 1 / yield.MinorPerMajor(currency)
	words := map[string][2]string{"mile": {"A mile", " " + currency}, "price": {"A board foot", " " + currency}, "hour": {"An hour", " " + currency}, "lot_minutes": {"Extra minutes a lot", ""}}[f.Term]
	switch f.Term {
	case "price":
		unit *= yield.CubicMetresPerBoardFoot
	case "lot_minutes":
		unit = 1
	}
	say := func(v float64) string { return trimmedNumber(v*unit) + words[1] }
	if !f.Exists {
		return words[0] + " (now " + say(f.Now) + "): no value changes their order."
	}
	return words[0] + " (now " + say(f.Now) + "): they change places at " + say(math.Round(f.At*unit*100)/100/unit) + "."
}

// termColumns are the figures that a person may change to see what if.
func termColumns(currency string) []db.ColumnInfo {
	return []db.ColumnInfo{
		{Name: "mile", Label: "Cost of a mile, " + currency, InputMode: "decimal", Help: "Fuel and wear."},
		{Name: "price", Label: "Price of a board foot bought instead, " + currency, InputMode: "decimal", Help: "Of wood usable inside."},
		{Name: "hour", Label: "Worth of your hour, " + currency, InputMode: "decimal", Help: "0: the Saturday is the point."},
		{Name: "lot", Label: "Minutes more for each lot", InputMode: "text", Help: "A saw instead of a bar: -10."},
	}
}

// shownTerms are the figures that hold now, as the form shows them.
func shownTerms(now yield.Terms) map[string]string {
	unit := yield.MinorPerMajor(now.Currency)
	return map[string]string{
		"mile": trimmedNumber(now.Mile / unit), "price": trimmedNumber(now.Inside * yield.CubicMetresPerBoardFoot / unit),
		"hour": trimmedNumber(now.Hour / unit), "lot": trimmedNumber(now.LotMinutes),
	}
}

// termValues are the figures as typed, or those that hold now.
func termValues(r *http.Request, now yield.Terms) map[string]string {
	values := shownTerms(now)
	for name := range values {
		if typed := strings.TrimSpace(r.URL.Query().Get(name)); typed != "" {
			values[name] = typed
		}
	}
	return values
}

// trimmedNumber prints a number with up to four decimals.
func trimmedNumber(v float64) string {
	return strconv.FormatFloat(math.Round(v*1e4)/1e4, 'f', -1, 64)
}

// The dearest price that can be typed, in units of the currency.
const dearest = 1e6

// readTerms puts typed figures in place of those that hold now; one that reads
// as it stands on the page is left exactly as it is.
func readTerms(r *http.Request, now yield.Terms) (yield.Terms, db.FieldErrors) {
	typed, shown := termValues(r, now), shownTerms(now)
	terms, unit := now, yield.MinorPerMajor(now.Currency)
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
	read("mile", 0, dearest, func(v float64) { terms.Mile = v * unit })
	read("price", 0, dearest, func(v float64) {
		inside := v * unit / yield.CubicMetresPerBoardFoot
		if now.Inside > 0 {
			terms.Outside *= inside / now.Inside
		} else {
			terms.Outside = inside
		}
		terms.Inside = inside
	})
	read("hour", 0, dearest, func(v float64) { terms.Hour = v * unit })
	read("lot", -yield.MaxMinutes, yield.MaxMinutes, func(v float64) { terms.LotMinutes = v })
	return terms, faults
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

// driveSheet sends the choices as the page shows them, for the same figures.
func (a *app) driveSheet(w http.ResponseWriter, r *http.Request) error {
	page := &drivePage{base: a.base(r, "")}
	var err error
	if page.Ranking, _, err = a.outlook(r, page.Env); err != nil {
		return err
	}
	if page.Ranking.Next != nil {
		terms, faults := readTerms(r, page.Ranking.Next.Model.Terms())
		if len(faults) > 0 {
			return faults
		}
		answers, err := page.Ranking.Next.Model.AnswersAt(terms)
		if err != nil {
			return err
		}
		page.Ranking.NameAnswers(answers)
		page.fill(answers)
	}
	rows := [][]string{{"choice", "trips", "currency", "expected_net", "next_net_low_90", "next_net_high_90", "worth_of_finding_out_a_drive", "both", "try_once", "try_thrice", "reason", "in_words"}}
	money := func(v float64) string { return minorText(v, page.Ranking.Currency) }
	for _, c := range page.Choices {
		name, trips, low, high := "stay home", "", "0.00", "0.00"
		if c.Answer != nil {
			name, trips = c.Source.Name, strconv.Itoa(c.Answer.N)
			low, high = money(c.Answer.Next.Most.Low), money(c.Answer.Next.Most.High)
		}
		rows = append(rows, []string{name, trips, page.Ranking.Currency, money(c.Net), low, high, money(c.Premium), money(c.Score), money(c.TryOnce), money(c.TryThrice), string(c.Reason), c.Sentence})
	}
	return sendTable(w, "next-drive", rows)
}
