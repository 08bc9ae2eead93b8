package server

import (
	"html/template"
	"math"
	"net/http"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

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
	// Query repeats the question for the sheet.
	Query template.URL
	Moves []driveMove
	Flips []string
	// Horizon is how many drives are left in the season.
	Horizon int
	// First and Second lead the ranking of today.
	First, Second string
}

// driveChoice is one choice with the answer it rests on, nil for staying home.
// Source is nil for a place that is not in the book, too.
type driveChoice struct {
	yield.Choice
	Source *db.RankedSource
	Answer *yield.Answer
}

// Known reports whether the place is known to pay, so that nothing need be tried.
func (c driveChoice) Known() bool { return c.Reason == yield.KnownToPay }

// Why is the sentence of the choice without its name and reason, which stand beside
// it.
func (c driveChoice) Why() string {
	rest := strings.TrimPrefix(c.Sentence, c.Name())
	if i := strings.Index(rest, ": "); i >= 0 {
		rest = rest[i+len(": "):]
	}
	first, size := utf8.DecodeRuneInString(rest)
	return string(unicode.ToUpper(first)) + rest[size:]
}

// Name is what the choice is called.
func (c driveChoice) Name() string {
	switch {
	case c.Home:
		return "Stay home"
	case c.Source == nil:
		return c.SourceID
	}
	return c.Source.Name
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
	asked, faults := page.ask(r)
	if len(faults) > 0 {
		page.fill(page.Ranking.Next.Answers)
		return a.render(w, http.StatusUnprocessableEntity, "drive_show", page)
	}
	what, err := page.answer(asked)
	if err != nil {
		return err
	}
	page.Asked = asked.differs(page.Ranking.Next.Model)
	page.Query = template.URL(r.URL.Query().Encode()) //nolint:gosec // encoded anew: nothing but escaped pairs
	page.fill(what.After)
	page.compare(what)
	return a.show(w, "drive_show", page)
}

// answer asks the model what was asked of the page, with sources by name.
func (p *drivePage) answer(asked driveQuestion) (*yield.WhatIf, error) {
	model := p.Ranking.Next.Model
	if asked.place != nil {
		var err error
		if model, err = p.Ranking.With(*asked.place); err != nil {
			return nil, err
		}
	}
	model, err := model.Season(asked.drives)
	if err != nil {
		return nil, err
	}
	what, err := model.WhatIf(asked.terms)
	if err != nil {
		return nil, err
	}
	p.Ranking.NameAnswers(what.After)
	return what, nil
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
	p.Horizon = answers.Next.Horizon
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

// driveSheet sends the choices as the page shows them, for the same figures.
func (a *app) driveSheet(w http.ResponseWriter, r *http.Request) error {
	page := &drivePage{base: a.base(r, "")}
	var err error
	if page.Ranking, _, err = a.outlook(r, page.Env); err != nil {
		return err
	}
	if page.Ranking.Next != nil {
		asked, faults := page.ask(r)
		if len(faults) > 0 {
			return faults
		}
		what, err := page.answer(asked)
		if err != nil {
			return err
		}
		page.fill(what.After)
	}
	rows := [][]string{{"choice", "trips", "currency", "expected_net", "next_net_low_90", "next_net_high_90", "worth_of_finding_out_a_drive", "both", "try_once", "try_thrice", "best_number_of_trips", "gain_of_them", "drives_left", "reason", "in_words"}}
	money := func(v float64) string { return minorText(v, page.Ranking.Currency) }
	for _, c := range page.Choices {
		name, trips, low, high := "stay home", "", money(c.Net), money(c.Net)
		if c.Answer != nil {
			name, trips = c.Name(), strconv.Itoa(c.Answer.N)
			low, high = money(c.Answer.Next.Most.Low), money(c.Answer.Next.Most.High)
		}
		rows = append(rows, []string{name, trips, page.Ranking.Currency, money(c.Net), low, high, money(c.Premium), money(c.Score), money(c.TryOnce), money(c.TryThrice), strconv.Itoa(c.Trips), money(c.Gain), strconv.Itoa(page.Horizon), string(c.Reason), c.Sentence})
	}
	return sendTable(w, "next-drive", rows)
}
