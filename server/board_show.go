package server

import (
	"context"
	"net/http"

	"github.com/google/uuid"

	"skepwood/analytics/screen"
	"skepwood/db"
)

// boardPage is one board: its verdict, measures, defects and readings.
type boardPage struct {
	base
	Board       db.Board
	Row         db.StockBoard
	Judgement   screen.Judgement
	Why         []reasonLine
	Defects     []db.Defect
	Readings    []db.Reading
	Children    []db.StockBoard
	History     []db.History
	Senses      []senseForm
	DefectForm  form
	ReadingForm form
	// Question is what is odd about the reading just typed.
	Question readingQuestion
	NewID    string
	// Bench is the board's map, grade and cuts.
	Bench benchPart
	// Build is what plans make of it.
	Build buildPart
}

func (a *app) boardShow(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	page, err := a.loadBoard(r, id)
	if err != nil {
		return err
	}
	return a.show(w, "board_show", page)
}

// defectColumns are the fields of the small form for a defect.
var defectColumns = []string{"kind", "face", "x", "y", "dx", "dy", "depth", "metal", "note"}

func (a *app) loadBoard(r *http.Request, id uuid.UUID) (*boardPage, error) {
	ctx := r.Context()
	page := &boardPage{base: a.base(r, "Board"), NewID: newID().String(), Senses: senses()}
	var err error
	if page.Board, err = db.Boards.Get(ctx, a.store, id); err != nil {
		return nil, err
	}
	page.Title = "Board " + page.Board.Code
	if page.Row, err = a.store.StockBoard(ctx, id); err != nil {
		return nil, err
	}
	if page.Defects, err = a.store.DefectsOf(ctx, id); err != nil {
		return nil, err
	}
	if page.Readings, err = a.store.ReadingsOf(ctx, id); err != nil {
		return nil, err
	}
	if page.Children, err = a.store.BoardsCutFrom(ctx, id); err != nil {
		return nil, err
	}
	if page.History, err = a.store.HistoryOf(ctx, "board", id); err != nil {
		return nil, err
	}
	if err := a.judgeBoard(ctx, page); err != nil {
		return nil, err
	}
	if page.Bench, err = a.loadBench(r, id, page.Env); err != nil {
		return nil, err
	}
	if page.Build, err = a.loadBuild(r, page.Board, page.Env); err != nil {
		return nil, err
	}
	page.DefectForm = newForm(db.Defects.Info(), "defect-", map[string]string{}, nil).Only(defectColumns...)
	page.ReadingForm = newForm(db.Readings.Info(), "reading-", map[string]string{}, nil).Only(readingColumns...)
	return page, nil
}

// judgeBoard asks the function that stored the verdict for its reasons.
func (a *app) judgeBoard(ctx context.Context, page *boardPage) error {
	lot, own, err := a.store.BoardEvidence(ctx, page.Board)
	if err != nil {
		return err
	}
	opts, err := a.store.ScreenOptions(ctx)
	if err != nil {
		return err
	}
	page.Judgement = screen.JudgeBoard(lot, own, opts)
	page.Why = reasonLines(page.Judgement.Reasons, append(append([]screen.Finding(nil), lot...), own...))
	return nil
}

// defectCreate maps one defect onto a board.
func (a *app) defectCreate(w http.ResponseWriter, r *http.Request) error {
	return a.boardPart(w, r, boardPart{kind: db.Defects, prefix: "defect-", columns: defectColumns,
		put: func(p *boardPage, f form) { p.DefectForm = f }})
}

// postedBoard reads a form that was sent to a board's page, and the board.
func (a *app) postedBoard(r *http.Request) (*boardPage, error) {
	if err := parseForm(r); err != nil {
		return nil, err
	}
	id, err := pathID(r)
	if err != nil {
		return nil, err
	}
	return a.loadBoard(r, id)
}

// boardPart is a kind of entry that is added on a board's page.
type boardPart struct {
	kind    db.EntryKind
	prefix  string
	columns []string
	put     func(*boardPage, form)
}

func (a *app) boardPart(w http.ResponseWriter, r *http.Request, part boardPart) error {
	page, err := a.postedBoard(r)
	if err != nil {
		return err
	}
	values := readValues(r, part.kind.Info(), part.prefix)
	values["board"] = page.Board.Code
	_, err = part.kind.Add(r.Context(), a.store, db.Base{ID: formID(r, "id"), KeeperID: page.Keeper.ID}, values, page.Env)
	if err == nil {
		return seeOther(w, r, "/boards/"+page.Board.ID.String()+"?done=added#"+part.prefix+"list")
	}
	faults, other := asFaults(err)
	if other != nil {
		return other
	}
	part.put(page, newForm(part.kind.Info(), part.prefix, values, faults).Only(part.columns...))
	return a.render(w, http.StatusUnprocessableEntity, "board_show", page)
}
