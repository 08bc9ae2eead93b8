package server

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// layoutPage is one board of a plan at the saw: what was planned, and what
// really came of it.
type layoutPage struct {
	base
	Layout layoutView
	Plan   db.Plan
	Doc    *db.PlanDocument
	State  field
	Said   field
	Why    field
	Ticks  []tick
	Extras []extraRow
	Left   []leftRow
	Faults []formFault
	Blanks []db.StockBlank
	// Boards are the offcuts and what else was left of it, with their codes.
	Boards  []db.StockBoard
	History []db.History
}

// tick is a planned blank or offcut that was got or not.
type tick struct {
	ID, Label string
	On        bool
}

// extraRow is a part that was got beside the planned ones.
type extraRow struct {
	ID, CountID string
	Part, Count string
	// Error and CountError are what is wrong with the part and with the number.
	Error, CountError string
}

// leftRow is a board that was left.
type leftRow struct {
	LengthID, WidthID string
	Length, Width     string
	Error, WidthError string
}

const (
	extraRows = 3
	leftRows  = 2
)

var outcomes = []db.Option{
	{Value: db.LayoutOtherwise, Label: "it was cut otherwise, or gave less"},
	{Value: db.LayoutBroken, Label: "it broke"},
	{Value: db.LayoutRejected, Label: "it was rejected and not cut"},
}

func (b *builder) layoutShow(w http.ResponseWriter, r *http.Request) error {
	page, err := b.loadLayout(r)
	if err != nil {
		return err
	}
	return b.app.show(w, "layout_show", page)
}

func (b *builder) loadLayout(r *http.Request) (*layoutPage, error) {
	id, err := pathID(r)
	if err != nil {
		return nil, err
	}
	ctx := r.Context()
	page := &layoutPage{base: b.base(r, "Board at the saw")}
	layout, err := b.store.Layout(ctx, id)
	if err != nil {
		return nil, err
	}
	if page.Plan, err = db.Plans.Get(ctx, b.store, layout.Plan.ID); err != nil {
		return nil, err
	}
	if page.Doc, err = page.Plan.Read(); err != nil {
		return nil, err
	}
	one := []db.PlanLayout{layout}
	if err := b.store.CompareLayouts(ctx, &page.Plan, one); err != nil {
		return nil, err
	}
	page.Layout = newLayoutView(page.Env, page.Doc, one[0])
	page.Title = "Board " + layout.Code + " at the saw"
	blanks, err := b.store.BlankList(ctx, db.BlankFilter{Plan: layout.Plan.ID, Limit: 1000})
	if err != nil {
		return nil, err
	}
	for _, k := range blanks {
		if k.BoardID == layout.Board.ID {
			page.Blanks = append(page.Blanks, k)
		}
	}
	if layout.Done() {
		if page.Boards, err = b.store.BoardsCutFrom(ctx, layout.Board.ID); err != nil {
			return nil, err
		}
	}
	if page.History, err = b.store.HistoryOf(ctx, "layout", id); err != nil {
		return nil, err
	}
	page.State = field{ColumnInfo: db.ColumnInfo{Label: "What happened", Options: outcomes, Required: true}, ID: "state", Value: db.LayoutOtherwise}
	page.Said = field{ColumnInfo: db.ColumnInfo{Label: "In a few words", Required: true, Example: "the blade wandered, a strip was lost"}, ID: "said"}
	page.Why = reasonField("undo-why", "Why it is taken back")
	page.rows(r)
	return page, nil
}

// rows lays out what may be ticked and filled in; a form that comes back
// keeps what was typed.
func (p *layoutPage) rows(r *http.Request) {
	sent := r.Method == http.MethodPost && r.PostForm.Has("said")
	on := func(id string) bool { return !sent || r.PostFormValue(id) != "" }
	for _, piece := range p.Layout.Pieces {
		id := fmt.Sprintf("got-%d", piece.N)
		p.Ticks = append(p.Ticks, tick{id, piece.Code + " " + piece.Name + ", " + piece.Size, on(id)})
	}
	for i, o := range p.Layout.Offcuts {
		id := fmt.Sprintf("offcut-%d", i)
		p.Ticks = append(p.Ticks, tick{id, "offcut " + o.DX.Format(p.Env.Length) + " × " + o.DY.Format(p.Env.Length), on(id)})
	}
	for i := range extraRows {
		row := extraRow{ID: fmt.Sprintf("extra-%d", i), CountID: fmt.Sprintf("extra-count-%d", i)}
		row.Part, row.Count = r.PostFormValue(row.ID), r.PostFormValue(row.CountID)
		p.Extras = append(p.Extras, row)
	}
	for i := range leftRows {
		row := leftRow{LengthID: fmt.Sprintf("left-length-%d", i), WidthID: fmt.Sprintf("left-width-%d", i)}
		row.Length, row.Width = r.PostFormValue(row.LengthID), r.PostFormValue(row.WidthID)
		p.Left = append(p.Left, row)
	}
	if sent {
		p.State.Value, p.Said.Value = r.PostFormValue("state"), r.PostFormValue("said")
	}
}

// otherwise enters what really came of the board.
func (b *builder) otherwise(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := b.loadLayout(r)
	if err != nil {
		return err
	}
	got := page.readGot()
	if len(page.Faults) == 0 {
		err := b.store.SawOtherwise(r.Context(), b.edit(r, page.Layout.ID), got)
		if tooLate(err) {
			return b.lateFor(w, r)
		}
		if err == nil {
			done := "got"
			if got.State == db.LayoutRejected {
				done = "rejected"
			}
			return seeOther(w, r, fmt.Sprintf("/build/plans/%s?done=%s#board-%d", page.Plan.ID, done, page.Layout.Number))
		}
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.refuse(faults)
	}
	return b.render(w, http.StatusUnprocessableEntity, "layout_show", page)
}

// readGot takes the answer out of the form and notes what cannot be.
func (p *layoutPage) readGot() db.Got {
	got := db.Got{State: p.State.Value, Said: p.Said.Value, Extra: map[int]int{}}
	for i, t := range p.Ticks {
		switch {
		case !t.On || p.State.Value == db.LayoutRejected:
		case i < len(p.Layout.Pieces):
			got.Pieces = append(got.Pieces, p.Layout.Pieces[i].N)
		default:
			got.Offcuts = append(got.Offcuts, i-len(p.Layout.Pieces))
		}
	}
	for i := range p.Extras {
		row := &p.Extras[i]
		if strings.TrimSpace(row.Part) == "" {
			if strings.TrimSpace(row.Count) != "" {
				p.wrong(row.ID, "Blanks beside the planned ones", &row.Error, "are counted without a part; choose the part, or empty how many")
			}
			continue
		}
		part, err := strconv.Atoi(row.Part)
		n, badCount := strconv.Atoi(strings.TrimSpace(row.Count))
		switch {
		case err != nil || part < 0 || part >= len(p.Doc.Parts):
			p.wrong(row.ID, "Blanks beside the planned ones", &row.Error, "is no part of this plan; choose one of the list")
		case badCount != nil || n < 1 || n > 100:
			p.wrong(row.CountID, "How many", &row.CountError, "is not a whole number from 1 to 100; write how many were got")
		default:
			got.Extra[part] += n
		}
	}
	for i := range p.Left {
		if size := p.readLeft(&p.Left[i]); size != nil {
			got.Left = append(got.Left, *size)
		}
	}
	return got
}

func (p *layoutPage) readLeft(row *leftRow) *grade.Size {
	if strings.TrimSpace(row.Length) == "" && strings.TrimSpace(row.Width) == "" {
		return nil
	}
	length := p.readSize(row.LengthID, "Length of what is left", row.Length, &row.Error)
	width := p.readSize(row.WidthID, "Width of what is left", row.Width, &row.WidthError)
	if length == 0 || width == 0 {
		return nil
	}
	return &grade.Size{Length: length, Width: width}
}

// readSize reads a length above zero; a fault is noted and gives 0.
func (p *layoutPage) readSize(id, label, text string, into *string) wood.Length {
	l, err := wood.ParseLength(text, p.Env.Length)
	switch {
	case err != nil:
		f := db.LengthFault(err)
		p.wrong(id, label, into, f.Problem+"; "+f.Remedy)
	case l <= 0:
		p.wrong(id, label, into, "is zero; measure it, or leave both empty")
	default:
		return l
	}
	return 0
}

func (p *layoutPage) wrong(id, label string, into *string, problem string) {
	*into = problem
	p.Faults = append(p.Faults, formFault{ID: id, Text: label + " " + problem})
}

// refuse puts what the book refused beside the fields.
func (p *layoutPage) refuse(faults db.FieldErrors) {
	for _, f := range faults {
		text := f.Problem + "; " + f.Remedy
		switch f.Field {
		case "state":
			p.State.Error = text
			p.Faults = append(p.Faults, formFault{ID: "state", Text: "What happened " + text})
		case "said":
			p.Said.Error = text
			p.Faults = append(p.Faults, formFault{ID: "said", Text: "In a few words " + text})
		case "extra":
			p.wrong(p.Extras[0].ID, "Blanks beside the planned ones:", &p.Extras[0].Error, text)
		case "pieces":
			fault := formFault{Text: "What was got: the pieces " + text}
			if len(p.Ticks) > 0 {
				fault.ID = p.Ticks[0].ID
			}
			p.Faults = append(p.Faults, fault)
		case "left":
			p.wrong(p.Left[0].LengthID, "What is left", &p.Left[0].Error, text)
		default:
			p.Faults = append(p.Faults, formFault{Text: text})
		}
	}
}

// undo takes a tick back.
func (b *builder) undo(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := b.loadLayout(r)
	if err != nil {
		return err
	}
	edit := b.edit(r, page.Layout.ID)
	edit.Why = r.PostFormValue("why")
	err = b.store.UndoSaw(r.Context(), edit)
	if tooLate(err) {
		return b.lateFor(w, r)
	}
	if err == nil {
		return seeOther(w, r, fmt.Sprintf("/build/plans/%s?done=unsawn#board-%d", page.Plan.ID, page.Layout.Number))
	}
	faults, other := asFaults(err)
	if other != nil {
		return other
	}
	page.Why.Value = edit.Why
	for _, f := range faults {
		text := f.Problem + "; " + f.Remedy
		if f.Field == "why" {
			page.Why.Error = text
			page.Faults = append(page.Faults, formFault{ID: page.Why.ID, Text: page.Why.Label + " " + text})
			continue
		}
		page.Faults = append(page.Faults, formFault{Text: text})
	}
	return b.render(w, http.StatusUnprocessableEntity, "layout_show", page)
}

// blanksPage lists blanks in stock with where their wood came from.
type blanksPage struct {
	base
	Part   string
	Blanks []db.StockBlank
	Counts []db.BlankCount
	Next   string
}

const blanksPerPage = 100

func (b *builder) blanks(w http.ResponseWriter, r *http.Request) error {
	page := &blanksPage{base: b.base(r, "Blanks"), Part: strings.TrimSpace(r.URL.Query().Get("part"))}
	var err error
	filter := db.BlankFilter{Part: page.Part, After: r.URL.Query().Get("after"), Limit: blanksPerPage + 1}
	if page.Blanks, err = b.store.BlankList(r.Context(), filter); err != nil {
		return err
	}
	if len(page.Blanks) > blanksPerPage {
		page.Blanks = page.Blanks[:blanksPerPage]
		page.Next = nextPage(r.URL, page.Blanks[blanksPerPage-1].Code)
	}
	if page.Counts, err = b.store.BlankCounts(r.Context()); err != nil {
		return err
	}
	return b.app.show(w, "blank_list", page)
}

// blankSheet is the same list, up to a thousand of them.
func (b *builder) blankSheet(w http.ResponseWriter, r *http.Request) error {
	list, err := b.store.BlankList(r.Context(), db.BlankFilter{Part: strings.TrimSpace(r.URL.Query().Get("part")), After: r.URL.Query().Get("after"), Limit: 1000})
	if err != nil {
		return err
	}
	env := b.base(r, "").Env
	rows := [][]string{{"blank", "kit", "part", "zone", "verdict", "thickness", "width", "length", "place", "board", "lot", "pickup", "source"}}
	for _, k := range list {
		rows = append(rows, []string{k.Code, k.Kit, k.Part, k.Zone, k.Verdict, k.Thickness.Format(env.Length), k.Width.Format(env.Length), k.Length.Format(env.Length),
			k.Place, k.Board, k.Lot, k.Day.Format("2006-01-02"), k.Source})
	}
	return sendTable(w, "blanks", rows)
}
