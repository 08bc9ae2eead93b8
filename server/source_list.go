package server

import (
	"errors"
	"net/http"
	"strconv"
	"strings"
	"time"

	"skepwood/analytics/yield"
	"skepwood/db"
)

// sourcesPage ranks the sources by what the next trip brings, with what was
// beside it.
type sourcesPage struct {
	base
	Ranking *db.Ranking
	// Leaders says which source is best and which cannot be told apart from it.
	Leaders string
	// The words say what each picture shows.
	NextWords, YieldWords, FateWords, ValueWords string
	// Problem is why nothing could be valued, in words.
	Problem string
}

func (a *app) sourceList(w http.ResponseWriter, r *http.Request) error {
	page := &sourcesPage{base: a.base(r, "Sources")}
	ranking, err := a.store.Ranking(r.Context(), page.Env.Currency)
	if problem := valueProblem(err); problem != "" {
		page.Problem = problem
		page.Ranking = &db.Ranking{}
		return a.show(w, "source_list", page)
	}
	if err != nil {
		return err
	}
	page.Ranking, page.Leaders, page.NextWords = ranking, leadersText(ranking), nextPicture(ranking).Words()
	page.YieldWords, page.FateWords = yieldPicture(ranking, page.Env).Words(), fatePicture(ranking, page.Env).Words()
	value, err := valuePicture(ranking)
	if err != nil {
		return err
	}
	page.ValueWords = value.Words()
	return a.show(w, "source_list", page)
}

// leadersText names the best expected source and those that cannot be told
// apart from the best.
func leadersText(r *db.Ranking) string {
	if r.Next == nil {
		return ""
	}
	sources := r.Expected()
	best := sources[0]
	if guess := r.Next.Answers.Guess; guess != "" {
		return "There is not enough evidence yet: " + guess + ". The figures below are what is believed of any place."
	}
	text := "Most is expected of " + best.Name + ": " + spreadText(best.Answer.Next, r.Currency) + " " + r.Currency + " on the next trip, after " + plural(best.Answer.N, "trip", "trips") + "."
	var level []string
	for _, s := range sources[1:] {
		if s.Answer.Contender {
			level = append(level, s.Name)
		}
	}
	const several = 4
	switch {
	case len(sources) == 1:
		return text
	case len(level) == 0:
		return text + " The book tells it apart from all others with 90 % certainty."
	case len(level) > several:
		return text + " It cannot be told apart from " + strconv.Itoa(len(level)) + " others with 90 % certainty."
	}
	return text + " It cannot be told apart from " + strings.Join(level, ", ") + " with 90 % certainty."
}

// valueProblem says in words why pickups cannot be valued, where a keeper can
// mend it; otherwise it returns "".
func valueProblem(err error) string {
	if errors.Is(err, yield.ErrCurrency) || errors.Is(err, yield.ErrNoRate) || errors.Is(err, yield.ErrPickup) {
		return err.Error()
	}
	return ""
}

// sourceSheet sends the sources as the page shows them.
func (a *app) sourceSheet(w http.ResponseWriter, r *http.Request) error {
	ranking, b, err := a.ranking(r)
	if err != nil {
		return err
	}
	unit := strings.ReplaceAll(volumeUnit(b.Env), " ", "_")
	rows := [][]string{{"source", "kind", "evidence", "trips", "empty", "by_eye", "last_trip", "next_drive", "currency",
		"next_net", "next_net_low_50", "next_net_high_50", "next_net_low_90", "next_net_high_90", "chance_it_pays",
		"expected_net", "expected_net_low_90", "expected_net_high_90", "usable_" + unit, "usable_low_90", "usable_high_90",
		"empty_chance", "empty_chance_low_90", "empty_chance_high_90", "break_even_" + b.Env.Distance, "break_even_low_90", "break_even_high_90",
		"expected_rank", "chance_of_being_best", "cannot_be_told_apart_from_best", "share_on_hold",
		"past_net_a_pickup", "past_low_90", "past_high_90", "in_words"}}
	for _, s := range ranking.Expected() {
		rows = append(rows, sourceCells(s, ranking, b.Env))
	}
	return sendTable(w, "sources", rows)
}

// sourceCells is one source's row of the sheet; what is not known is empty.
func sourceCells(s db.RankedSource, r *db.Ranking, env db.Env) []string {
	money := func(v float64) string { return minorText(v, r.Currency) }
	cells := []string{s.Name, s.Kind}
	if a := s.Answer; a != nil {
		last := ""
		if !a.Last.IsZero() {
			last = a.Last.Format(time.DateOnly)
		}
		volume := func(m3 float64) string { return volumeText(env, max(0, m3)) }
		cells = append(cells, string(a.Evidence), strconv.Itoa(a.N), strconv.Itoa(a.Empty), strconv.Itoa(a.Estimated), last, r.Next.Day.Format(time.DateOnly), r.Currency,
			money(a.Next.Mean), money(a.Next.Half.Low), money(a.Next.Half.High), money(a.Next.Most.Low), money(a.Next.Most.High), plainNumber(a.Pays, 3),
			money(a.Expected.Mean), money(a.Expected.Most.Low), money(a.Expected.Most.High),
			volume(a.Usable.Mean), volume(a.Usable.Most.Low), volume(a.Usable.Most.High),
			plainNumber(a.EmptyChance.Value, 3), plainNumber(a.EmptyChance.Low, 3), plainNumber(a.EmptyChance.High, 3))
		cells = append(cells, figureCells(a.BreakEvenMiles, func(miles float64) string { return roadText(env, miles*metresPerMile) })...)
		apart := "no"
		if a.Contender {
			apart = "yes"
		}
		cells = append(cells, plainNumber(a.ExpectedRank, 2), plainNumber(a.BestChance, 3), apart, plainNumber(a.HeldShare, 3))
	} else {
		cells = append(cells, make([]string, 29)...)
	}
	if s.Plain != nil {
		cells = append(cells, figureCells(s.PerPickup, money)...)
	} else {
		cells = append(cells, "", "", "")
	}
	if s.Answer == nil {
		return append(cells, r.Why)
	}
	return append(cells, s.Answer.Sentence)
}

// figureCells prints a figure and its interval, as far as they are known.
func figureCells(f yield.Figure, text func(float64) string) []string {
	switch {
	case f.N == 0 && !f.Known:
		return []string{"", "", ""}
	case !f.Known:
		return []string{text(f.Value), "", ""}
	}
	return []string{text(f.Value), text(f.Low), text(f.High)}
}

// woodSheet sends usable wood and the fates of wood by source, as the pictures
// of what was show them.
func (a *app) woodSheet(w http.ResponseWriter, r *http.Request) error {
	ranking, b, err := a.ranking(r)
	if err != nil {
		return err
	}
	unit := strings.ReplaceAll(volumeUnit(b.Env), " ", "_")
	rows := [][]string{{"source", "kind", "pickups", "usable_a_pickup_" + unit, "usable_low_90", "usable_high_90", "usable_low_50", "usable_high_50",
		"inside_" + unit, "outside_" + unit, "hold_" + unit, "never_" + unit, "not_ours_" + unit, "broken_" + unit}}
	volume := func(m3 float64) string { return volumeText(b.Env, m3) }
	for _, s := range ranking.Sources {
		cells := []string{s.Name, s.Kind, "0", "", "", "", "", ""}
		if s.Plain != nil {
			f := s.UsablePerPickup
			cells[2], cells[3] = strconv.Itoa(s.N), volume(f.Value)
			if f.Known {
				cells[4], cells[5], cells[6], cells[7] = volume(max(0, f.Low)), volume(f.High), volume(max(0, f.Low50)), volume(f.High50)
			}
		}
		o := s.Outcome
		for _, m3 := range []float64{o.GrossInside, o.GrossOutside, o.GrossHold, o.GrossNever, o.GrossStopped, o.GrossLost} {
			cells = append(cells, volume(m3))
		}
		rows = append(rows, cells)
	}
	return sendTable(w, "wood-by-source", rows)
}

// valueSheet sends what the log has won and cost, summed trip by trip.
func (a *app) valueSheet(w http.ResponseWriter, r *http.Request) error {
	ranking, _, err := a.ranking(r)
	if err != nil {
		return err
	}
	picture, err := valuePicture(ranking)
	if err != nil {
		return err
	}
	rows := [][]string{{"day", "currency", "value_so_far", "cost_so_far"}}
	for _, p := range picture.Points {
		rows = append(rows, []string{p.When.Format(time.DateOnly), ranking.Currency, plainNumber(p.Value, 2), plainNumber(p.Cost, 2)})
	}
	return sendTable(w, "value-and-cost", rows)
}
