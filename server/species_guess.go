package server

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/google/uuid"

	"skepwood/analytics/mark"
	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// guessPage asks what wood a board may be. Everything asked stands in the
// address; a board's own page prefills it.
type guessPage struct {
	base
	// Board is nil where the guess is about no board of the book.
	Board  *db.Board
	Form   form
	Answer *guessAnswer
	Past   []pastWood
	Country,
	CountryName string
	// Record are the fields that put the answer into the book.
	Record form
	// Action is where the record form goes: the board, with the question.
	Action  string
	NewID   string
	History []db.History
}

// guessAnswer is a guess laid out for reading.
type guessAnswer struct {
	moisture.Guess
	Rows []guessRow
	// Gravity, Shrinks are what the weighing and the guess say, in words.
	Gravity, Shrinks string
	Next             []nextClue
	Text             string
	Steps            []stepsView
}

// guessRow is one wood of the list.
type guessRow struct {
	ID, Name, Scientific string
	P                    float64
}

type nextClue struct {
	Ask, Helps string
}

type pastWood struct {
	Name string
	N    int
}

// guessFields are what can be measured; the clues follow as the table has them.
func guessFields() []db.ColumnInfo {
	out := []db.ColumnInfo{
		{Name: "mass", Label: "Mass of the board", Help: "Without a unit, grams.", Example: "1.2 kg or 2 lb 3 oz"},
		{Name: "mass_error", Label: "Mass may be off by", Help: "Empty means one part in a hundred.", Example: "20 g"},
		{Name: "thickness", Label: "Thickness", Example: "3/4 in"},
		{Name: "width", Label: "Width", Example: "5 1/2 in"},
		{Name: "length", Label: "Length", Example: "48 in"},
		{Name: "size_error", Label: "Each size may be off by", Help: "Empty means half a millimetre.", Example: "1/16 in"},
		{Name: "moisture", Label: "Moisture, %, corrected", Example: "14", InputMode: "decimal"},
		{Name: "moisture_error", Label: "Moisture may be off by, %", Help: "Empty means 2.", Example: "2", InputMode: "decimal"},
		{Name: "country", Label: "Country in the mark", Help: "Two letters; empty where there is no mark.", Example: "SE"},
	}
	for _, q := range moisture.ClueQuestions() {
		c := db.ColumnInfo{Name: "clue-" + string(q.Kind), Label: q.Ask}
		for _, answer := range q.Answers {
			c.Options = append(c.Options, db.Option{Value: answer, Label: answer})
		}
		out = append(out, c)
	}
	return out
}

func (a *app) guessShow(w http.ResponseWriter, r *http.Request) error {
	page, err := a.loadGuess(r)
	if err != nil {
		return err
	}
	status := http.StatusOK
	if len(page.Form.Faults) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return a.render(w, status, "species_guess", page)
}

// loadGuess answers the question in the address.
func (a *app) loadGuess(r *http.Request) (*guessPage, error) {
	q := r.URL.Query()
	page := &guessPage{base: a.base(r, "What wood is it?"), NewID: newID().String()}
	in := &deskInput{env: page.Env, values: map[string]string{}, faults: map[string]string{}}
	for _, c := range guessFields() {
		in.values[c.Name] = strings.TrimSpace(q.Get(c.Name))
	}
	past := map[string]int{}
	var newest *db.Reading
	if id := q.Get("board"); id != "" {
		var err error
		if newest, past, err = a.prefillGuess(r, page, id, in); err != nil {
			return nil, err
		}
	}
	input := readGuess(in)
	input.Past = past
	guess, err := moisture.NewGuess(input)
	if err != nil && len(in.faults) == 0 {
		in.faults[guessBlame(err)] = err.Error()
	}
	page.Form = newForm(guessFields(), "", in.values, nil)
	page.Form.blame(in.faults)
	if page.Board != nil {
		page.Action = "/boards/" + page.Board.ID.String() + "/guess?" + guessQuery(in.values)
	}
	if len(in.faults) > 0 {
		return page, nil
	}
	page.answer(guess, newest)
	page.layRecord(nil, nil)
	return page, nil
}

// prefillGuess fills empty fields with what the book knows of a board, and
// returns its newest reading and what woods its source brought before.
func (a *app) prefillGuess(r *http.Request, page *guessPage, id string, in *deskInput) (*db.Reading, map[string]int, error) {
	boardID, err := uuid.Parse(id)
	if err != nil {
		return nil, nil, &statusError{http.StatusNotFound, "There is no such entry in the book."}
	}
	ctx := r.Context()
	board, err := db.Boards.Get(ctx, a.store, boardID)
	if err != nil {
		return nil, nil, err
	}
	page.Board = &board
	row, err := a.store.StockBoard(ctx, boardID)
	if err != nil {
		return nil, nil, err
	}
	lot, own, err := a.store.BoardEvidence(ctx, board)
	if err != nil {
		return nil, nil, err
	}
	if !r.URL.Query().Has("mass") { // opened from the board, nothing asked yet
		shown := db.Boards.Values(&board, page.Env)
		for _, name := range []string{"thickness", "width", "length"} {
			in.values[name] = shown[name]
		}
		if row.Percent != nil && row.PercentSD != nil {
			in.values["moisture"], in.values["moisture_error"] = tenths(*row.Percent), tenths(max(*row.PercentSD, 0.5))
		}
		for _, f := range append(own, lot...) {
			if f.Kind == "mark" && in.values["country"] == "" && !f.Struck {
				in.values["country"] = mark.Read(f.Value).Country
			}
		}
	}
	past, err := a.store.SourcePast(ctx, board.Lot.ID)
	if err != nil {
		return nil, nil, err
	}
	if past[board.Species] > 0 { // the board does not vouch for itself
		past[board.Species]--
	}
	for _, s := range wood.AllSpecies() {
		if n := past[s.ID]; n > 0 {
			page.Past = append(page.Past, pastWood{s.CommonName, n})
		}
	}
	readings, err := a.store.ReadingsOf(ctx, boardID)
	if err != nil {
		return nil, nil, err
	}
	for i := range readings { // newest first
		if !readings[i].Struck() {
			return &readings[i], past, nil
		}
	}
	return nil, past, nil
}

// readGuess reads what was typed.
func readGuess(in *deskInput) moisture.GuessInput {
	out := moisture.GuessInput{Country: strings.ToUpper(in.values["country"])}
	if c := out.Country; c != "" && (len(c) != 2 || c[0] < 'A' || c[0] > 'Z' || c[1] < 'A' || c[1] > 'Z') {
		in.fault("country", errors.New("is not a country code; write its two letters, like SE"))
	}
	for _, q := range moisture.ClueQuestions() {
		if answer := in.values["clue-"+string(q.Kind)]; answer != "" {
			out.Clues = append(out.Clues, moisture.Clue{Kind: q.Kind, Answer: answer})
		}
	}
	mass, massError := in.mass("mass"), in.mass("mass_error")
	t, wd, l, sizeError := in.length("thickness"), in.length("width"), in.length("length"), in.length("size_error")
	mc, mcError := in.percent("moisture"), in.percent("moisture_error")
	if in.values["mass"] == "" {
		return out // no weighing; sizes alone say nothing
	}
	in.need("thickness", "width", "length", "moisture")
	if mcError != nil && *mcError > 20 {
		in.fault("moisture_error", errors.New("is more than 20 %; measure the moisture, or leave the mass out"))
	}
	if len(in.faults) > 0 {
		return out
	}
	weighing := &moisture.Weighing{MassGrams: mass.Grams(), MassSD: massError.Grams(), LengthMM: l.Millimetres(), WidthMM: wd.Millimetres(), ThicknessMM: t.Millimetres(),
		SizeSD: sizeError.Millimetres(), Moisture: *mc}
	if massError == 0 {
		weighing.MassSD = weighing.MassGrams / 100
	}
	if mcError != nil {
		weighing.MoistureSD = *mcError
	}
	out.Weighing = weighing
	return out
}

// guessBlame is the field that a fault of the guess stands beside.
func guessBlame(err error) string {
	var input *moisture.InputError
	if errors.As(err, &input) {
		for _, b := range [][2]string{{"moisture", "moisture"}, {"size", "thickness"}} {
			if strings.HasPrefix(input.Field, b[0]) {
				return b[1]
			}
		}
		if kind, ok := strings.CutPrefix(input.Field, "clue "); ok {
			kind, _, _ = strings.Cut(kind, " ")
			return "clue-" + kind
		}
	}
	return "mass"
}

// guessQuery writes the question as an address.
func guessQuery(values map[string]string) string {
	q := url.Values{}
	for name, v := range values {
		q.Set(name, v)
	}
	return q.Encode()
}

// mostGuessed is how many woods the list spells out and the book keeps.
const mostGuessed = 8

// answer lays the guess out.
func (p *guessPage) answer(g moisture.Guess, newest *db.Reading) {
	out := &guessAnswer{Guess: g, Text: moisture.WriteGuess(g.Shares, mostGuessed)}
	rest := 1.0
	for _, s := range g.Shares {
		if s.ID == "" || len(out.Rows) == mostGuessed || s.P < 0.005 {
			continue
		}
		if known, err := wood.SpeciesByID(s.ID); err == nil {
			out.Rows = append(out.Rows, guessRow{s.ID, known.CommonName, known.ScientificName, s.P})
			rest -= s.P
		}
	}
	out.Rows = append(out.Rows, guessRow{Name: "another wood, or one the table lacks", P: max(0, rest)})
	if g.BasicGravity.Mean > 0 {
		out.Gravity = fmt.Sprintf("%.3f ± %.3f", g.BasicGravity.Mean, g.BasicGravity.SD)
	}
	if radial, tangential, known := g.Shrinkage(); known > 0.5 {
		out.Shrinks = fmt.Sprintf("tangential %.1f ± %.1f %%, radial %.1f ± %.1f %% from green to oven-dry (the mean over the woods it may be and their disagreement; %.0f %% of them have figures)",
			tangential.Mean, tangential.SD, radial.Mean, radial.SD, 100*known)
	}
	for i, c := range g.Next {
		if i == 3 || c.Bits < 0.01 {
			break
		}
		out.Next = append(out.Next, nextClue{c.Ask, fmt.Sprintf("%.1f bits", c.Bits)})
	}
	if newest != nil {
		r := newest.Reading
		r.Species = ""
		out.Steps = append(out.Steps, newSteps("The newest reading, "+momentText(p.Env, r.At), r, g.Shares))
	}
	p.Answer = out
}

// layRecord lays out the form that puts the answer into the book.
func (p *guessPage) layRecord(values map[string]string, faults db.FieldErrors) {
	if p.Board == nil || p.Answer == nil {
		return
	}
	choice := db.ColumnInfo{Name: "species", Label: "Put it down as", Options: []db.Option{{Value: "unsure", Label: "not sure: " + guessText(p.Answer.Shares, 3)}}}
	for _, row := range p.Answer.Rows {
		if row.ID != "" {
			choice.Options = append(choice.Options, db.Option{Value: row.ID, Label: fmt.Sprintf("%s (%.0f %%)", row.Name, 100*row.P)})
		}
	}
	if values == nil {
		values = map[string]string{"species": "unsure"}
	}
	p.Record = newForm([]db.ColumnInfo{choice, {Name: "why", Label: "Why", Required: true, Example: "weighed, and smelled of resin"}}, "record-", values, faults)
}

// guessRecord puts a guess, or the species it settled on, down on its board.
func (a *app) guessRecord(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id, err := pathID(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	q.Set("board", id.String())
	r.URL.RawQuery = q.Encode()
	page, err := a.loadGuess(r)
	if err != nil {
		return err
	}
	if page.Answer == nil {
		return a.render(w, http.StatusUnprocessableEntity, "species_guess", page)
	}
	typed := map[string]string{"species": r.PostFormValue("record-species"), "why": r.PostFormValue("record-why")}
	values := map[string]string{"species": typed["species"]}
	if typed["species"] == "unsure" || typed["species"] == "" {
		values = map[string]string{"species": "", "species_guess": page.Answer.Text}
	}
	edit := db.Edit{ID: id, Version: page.Board.Version, Keeper: page.Keeper.ID, Why: typed["why"], Env: page.Env}
	after, err := db.Boards.Correct(r.Context(), a.store, edit, values)
	if err == nil {
		done := "guessed"
		if after.Version == page.Board.Version {
			done = "same"
		}
		return seeOther(w, r, "/boards/"+id.String()+"?done="+done)
	}
	faults, other := asFaults(err)
	if other != nil {
		return other
	}
	page.layRecord(typed, faults)
	return a.render(w, http.StatusUnprocessableEntity, "species_guess", page)
}
