package server

import (
	"net/http"
	"strings"

	"skepwood/analytics/moisture"
	"skepwood/db"
)

// readingRound is one round of readings through a stack: what is the same for all of
// them once, and one number for each board of the screen.
type readingRound struct {
	Shared  form
	Rows    []readingRow
	From    int
	Screens []readingScreen
	// Faults are what cannot be, Questions what is odd: those are asked, and
	// stored once they are ticked.
	Faults    []formFault
	Questions int
	// Temperature is the question about the wood temperature, if any.
	Temperature readingQuestion
}

// readingScreen is one part of a stack that is too large for one form.
type readingScreen struct {
	From int
	Text string
	Here bool
}

// readingRow is one board with its number.
type readingRow struct {
	Board     db.StockBoard
	ID, Value string
	Error     string
	Question  readingQuestion
}

// readingQuestion is what is odd about a value. Sure is the value it was asked
// about, so that a tick answers for that value alone.
type readingQuestion struct {
	Text, ID, Sure string
	Ticked         bool
}

// noNumber says that a round was sent without a single reading.
const noNumber = "no reading was typed; write at least one number"

// onceColumns are asked for once.
var onceColumns = []string{"method", "temperature", "setting", "place", "taken", "note"}

func (a *app) stackRead(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadStack(r)
	if err != nil {
		return err
	}
	page.Round = newReadingRound(page, r.PostFormValue("from"))
	earlier, err := a.store.StackReadings(r.Context(), page.Stack)
	if err != nil {
		return err
	}
	reader := &readingReader{request: r, page: page, values: readValues(r, db.Readings.Info(), ""), earlier: make(map[string][]moisture.Reading), shared: map[string]*db.FieldError{}}
	for _, e := range earlier {
		reader.earlier[e.BoardID] = append(reader.earlier[e.BoardID], e.Reading)
	}
	readings := reader.read()
	page.NewID = formID(r, "id").String()
	if len(page.Round.Faults) == 0 && page.Round.Questions == 0 {
		err := a.store.AddReadings(r.Context(), formID(r, "id"), page.Keeper.ID, readings)
		if err == nil {
			return seeOther(w, r, "/stacks/"+page.ID.String()+"?done=added")
		}
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.Round.Faults = append(page.Round.Faults, formFault{Text: faults.Error()})
		page.NewID = freshID(page.NewID, err)
	}
	return a.render(w, http.StatusUnprocessableEntity, "stack_show", page)
}

// readingReader reads a posted round.
type readingReader struct {
	request *http.Request
	page    *stackPage
	values  map[string]string
	earlier map[string][]moisture.Reading
	// shared are the faults of what is asked once.
	shared map[string]*db.FieldError
}

// read returns the readings; faults and questions stay in the page's round.
func (rr *readingReader) read() []db.Reading {
	round := &rr.page.Round
	var out []db.Reading
	for i := range round.Rows {
		row := &round.Rows[i]
		if row.Value = strings.TrimSpace(rr.request.PostFormValue(row.ID)); row.Value == "" {
			continue
		}
		if reading, ok := rr.row(row); ok {
			out = append(out, reading)
		}
	}
	rr.check()
	var faults db.FieldErrors
	for _, f := range rr.shared {
		faults = append(faults, f)
	}
	round.Shared = newForm(db.Readings.Info(), "", rr.values, faults).Only(onceColumns...)
	round.Faults = append(round.Faults, round.Shared.Faults...)
	if len(out) == 0 && len(round.Faults) == 0 && len(round.Rows) > 0 {
		round.Rows[0].Error = noNumber
		round.Faults = append(round.Faults, formFault{ID: round.Rows[0].ID, Text: round.Rows[0].Board.Code + ": " + noNumber})
	}
	return out
}

// check reads what is asked once even where no board has a number.
func (rr *readingReader) check() {
	values := map[string]string{"board": "-", "raw": "10"}
	for _, name := range onceColumns {
		values[name] = rr.values[name]
	}
	var probe db.Reading
	for _, f := range db.Readings.Parse(&probe, values, rr.page.Env) {
		rr.shared[f.Field] = f
	}
}

// row reads one board's number.
func (rr *readingReader) row(row *readingRow) (db.Reading, bool) {
	values := map[string]string{"board": row.Board.ID.String(), "raw": row.Value}
	for _, name := range onceColumns {
		values[name] = rr.values[name]
	}
	var reading db.Reading
	ok := true
	for _, f := range db.Readings.Parse(&reading, values, rr.page.Env) {
		ok = false
		if f.Field != "raw" {
			rr.shared[f.Field] = f
			continue
		}
		row.Error = f.Problem + "; " + f.Remedy
		rr.page.Round.Faults = append(rr.page.Round.Faults, formFault{ID: row.ID, Text: row.Board.Code + ": " + row.Error})
	}
	if !ok {
		return reading, false
	}
	if reading.At.IsZero() {
		reading.At = rr.page.Env.Now
	}
	rr.ask(row, reading)
	return reading, true
}

// ask queries what is odd about a reading, unless the keeper is sure of it.
func (rr *readingReader) ask(row *readingRow, reading db.Reading) {
	in := reading.Reading
	in.BoardID, in.Species = row.Board.ID.String(), row.Board.Species
	round := &rr.page.Round
	var asked []string
	for _, d := range moisture.Doubts(in, rr.earlier[in.BoardID], rr.page.Env.Now) {
		if d.Kind == moisture.DoubtUnit {
			rr.put(&round.Temperature, "sure-temperature", rr.values["temperature"], d.Text)
			continue
		}
		asked = append(asked, d.Text)
	}
	if len(asked) > 0 {
		rr.put(&row.Question, "sure-"+row.Board.ID.String(), row.Value, strings.Join(asked, " "))
	}
}

// put asks a question once; the tick must have been for the same value.
func (rr *readingReader) put(q *readingQuestion, id, value, text string) {
	if q.Text != "" {
		return
	}
	*q = readingQuestion{Text: text, ID: id, Sure: value, Ticked: rr.request.PostFormValue(id) == value}
	if !q.Ticked {
		rr.page.Round.Questions++
	}
}
