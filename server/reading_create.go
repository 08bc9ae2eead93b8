package server

import (
	"net/http"
	"strings"

	"skepwood/analytics/moisture"
	"skepwood/db"
)

// readingColumns are the fields of the small form on a board's page.
var readingColumns = []string{"raw", "method", "temperature", "setting", "place", "mass", "dry_mass", "taken", "note"}

// readingCreate adds one moisture reading to a board. What is odd about it is
// asked before it is stored, not refused.
func (a *app) readingCreate(w http.ResponseWriter, r *http.Request) error {
	page, err := a.postedBoard(r)
	if err != nil {
		return err
	}
	values := readValues(r, db.Readings.Info(), "reading-")
	values["board"] = page.Board.Code
	put := func(faults db.FieldErrors) error {
		page.ReadingForm = newForm(db.Readings.Info(), "reading-", values, faults).Only(readingColumns...)
		return a.render(w, http.StatusUnprocessableEntity, "board_show", page)
	}
	var reading db.Reading
	if faults := db.Readings.Parse(&reading, values, page.Env); len(faults) > 0 {
		return put(faults)
	}
	page.Question = page.ask(reading, values, r.PostFormValue("reading-sure"))
	if page.Question.Text != "" && !page.Question.Ticked {
		page.ReadingForm.Faults = nil
		return put(nil)
	}
	_, err = db.Readings.Add(r.Context(), a.store, db.Base{ID: formID(r, "id"), KeeperID: page.Keeper.ID}, values, page.Env)
	if err == nil {
		return seeOther(w, r, "/boards/"+page.Board.ID.String()+"?done=added#reading-list")
	}
	faults, other := asFaults(err)
	if other != nil {
		return other
	}
	return put(faults)
}

// ask queries what is odd about a reading of the board; the tick must have been
// for the same values.
func (p *boardPage) ask(reading db.Reading, values map[string]string, sure string) readingQuestion {
	in := reading.Reading
	in.Species = p.Board.Species
	if in.At.IsZero() {
		in.At = p.Env.Now
	}
	var earlier []moisture.Reading
	for i := range p.Readings {
		if !p.Readings[i].Struck() {
			earlier = append(earlier, p.Readings[i].Reading)
		}
	}
	var asked []string
	for _, d := range moisture.Doubts(in, earlier, p.Env.Now) {
		asked = append(asked, d.Text)
	}
	value := strings.Join([]string{values["raw"], values["method"], values["temperature"], values["mass"], values["dry_mass"], values["taken"]}, "|")
	return readingQuestion{Text: strings.Join(asked, " "), ID: "reading-sure", Sure: value, Ticked: sure == value}
}
