package server

import (
	"context"
	"net/http"
	"strings"

	"github.com/google/uuid"

	"skepwood/analytics/screen"
	"skepwood/db"
)

// lotPage is one lot: the verdict first, then why, then what would change it.
type lotPage struct {
	base
	Lot       db.Lot
	Row       db.LotRow
	Judgement screen.Judgement
	Why       []reasonLine
	Lifted    []reasonLine
	Findings  []db.Finding
	Boards    lotBoards
	Readings  []db.Reading
	History   []db.History
	// Was is the verdict before the finding that was just added, if it changed.
	Was       string
	Senses    []senseForm
	BoardForm form
	// Marked says what a tap on all of its boards did.
	Marked string
	Count  field
	NewID  string
}

// reasonLine is one rule that fired, with the findings it fired on.
type reasonLine struct {
	screen.Reason
	Seen []string
}

// senseForm groups the kinds of finding by what tells them.
type senseForm struct {
	Name  string
	Kinds []screen.KindInfo
}

// senseNames says how findings are come by, in the order of asking.
var senseNames = []struct{ sense, name string }{
	{"eyes", "What eyes see"}, {"nose", "What the nose tells"}, {"business", "What the business says"},
	{"paper", "What papers say"}, {"test", "What a test shows"},
}

func senses() []senseForm {
	out := make([]senseForm, 0, len(senseNames))
	for _, s := range senseNames {
		f := senseForm{Name: s.name}
		for _, k := range screen.Kinds() {
			if k.Sense == s.sense {
				f.Kinds = append(f.Kinds, k)
			}
		}
		if len(f.Kinds) > 0 {
			out = append(out, f)
		}
	}
	return out
}

func (a *app) lotShow(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	page, err := a.loadLot(r, id)
	if err != nil {
		return err
	}
	if r.URL.Query().Has("find") {
		return a.lotFind(w, r, page)
	}
	return a.show(w, "lot_show", page)
}

// loadLot reads all that the lot's page shows.
func (a *app) loadLot(r *http.Request, id uuid.UUID) (*lotPage, error) {
	ctx := r.Context()
	page := &lotPage{base: a.base(r, "Lot"), Senses: senses(), NewID: newID().String()}
	var err error
	if page.Lot, err = db.Lots.Get(ctx, a.store, id); err != nil {
		return nil, err
	}
	page.Title = "Lot " + page.Lot.Code
	if page.Row, err = a.store.Lot(ctx, id); err != nil {
		return nil, err
	}
	if page.Findings, err = a.store.FindingsOf(ctx, id); err != nil {
		return nil, err
	}
	if page.Boards, err = a.loadLotBoards(r, page.Lot); err != nil {
		return nil, err
	}
	if page.Readings, err = a.store.ReadingsOfLot(ctx, id, 30); err != nil {
		return nil, err
	}
	if was := r.URL.Query().Get("was"); verdictWords[was] != "" && was != page.Row.Verdict {
		page.Was = was
	}
	if page.History, err = a.store.HistoryOf(ctx, "lot", id); err != nil {
		return nil, err
	}
	if err := a.judgeForPage(ctx, page); err != nil {
		return nil, err
	}
	page.BoardForm = boardForm(map[string]string{}, nil)
	page.Marked = markedWords(r)
	page.Count = countField("1", "")
	return page, nil
}

// judgeForPage asks the same function again that stored the verdict, for the
// reasons in full.
func (a *app) judgeForPage(ctx context.Context, page *lotPage) error {
	live := make([]screen.Finding, 0, len(page.Findings))
	for _, f := range page.Findings {
		if !f.Struck() && f.Board.ID == uuid.Nil {
			live = append(live, f.Screen())
		}
	}
	prior, err := a.store.SourcePrior(ctx, page.Row.SourceID)
	if err != nil {
		return err
	}
	opts, err := a.store.ScreenOptions(ctx)
	if err != nil {
		return err
	}
	opts.Prior = &prior
	page.Judgement = screen.Judge(live, opts)
	page.Why = reasonLines(page.Judgement.Reasons, live)
	page.Lifted = reasonLines(page.Judgement.Lifted, live)
	return nil
}

func reasonLines(reasons []screen.Reason, findings []screen.Finding) []reasonLine {
	out := make([]reasonLine, 0, len(reasons))
	for _, r := range reasons {
		line := reasonLine{Reason: r}
		for _, i := range r.Findings {
			line.Seen = append(line.Seen, findingWords(findings[i]))
		}
		out = append(out, line)
	}
	return out
}

// findingWords says a finding in the words of its kind.
func findingWords(f screen.Finding) string {
	return strings.TrimSuffix(f.Label(), ": ") // kinds without a value
}
