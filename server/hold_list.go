package server

import (
	"net/http"
	"sort"
	"strings"
	"time"

	"github.com/google/uuid"

	"skepwood/analytics/screen"
	"skepwood/db"
)

// holdPage lists what is held, since when, why, and what would free it.
type holdPage struct {
	base
	Lots []heldLot
	// Senders are the sources by how many of the listed lots they sent.
	Senders []sender
	Form    form
	Faults  []formFault
	Kinds   []screen.KindInfo
	Chosen  map[string]bool
	NewID   string
}

type heldLot struct {
	db.HeldLot
	Days   int
	Reason string
	Lifts  []screen.Lift
	Next   *screen.Look
}

type sender struct {
	Source string
	Lots   int
}

// maxHeld bounds the list; a longer one is worked off from its top.
const maxHeld = 200

func (a *app) holdList(w http.ResponseWriter, r *http.Request) error {
	page, err := a.loadHolds(r)
	if err != nil {
		return err
	}
	return a.show(w, "hold_list", page)
}

func (a *app) loadHolds(r *http.Request) (*holdPage, error) {
	page := &holdPage{base: a.base(r, "On hold"), Kinds: screen.Kinds(), Chosen: map[string]bool{}, NewID: newID().String()}
	held, err := a.store.HeldLots(r.Context(), maxHeld)
	if err != nil {
		return nil, err
	}
	opts, err := a.store.ScreenOptions(r.Context())
	if err != nil {
		return nil, err
	}
	count := make(map[string]int)
	priors := make(map[uuid.UUID]screen.Prior)
	for _, h := range held {
		count[h.Source]++
		prior, ok := priors[h.SourceID]
		if !ok {
			if prior, err = a.store.SourcePrior(r.Context(), h.SourceID); err != nil {
				return nil, err
			}
			priors[h.SourceID] = prior
		}
		opts.Prior = &prior
		j := screen.Judge(h.Findings, opts)
		line := heldLot{HeldLot: h, Days: int(a.store.Now().Sub(h.Since) / (24 * time.Hour)), Lifts: j.Lifts, Next: j.Next}
		for _, reason := range j.Reasons {
			if reason.Verdict == screen.Hold {
				line.Reason = reason.Text
				break
			}
		}
		page.Lots = append(page.Lots, line)
	}
	for s, n := range count {
		page.Senders = append(page.Senders, sender{s, n})
	}
	sort.Slice(page.Senders, func(i, j int) bool {
		if page.Senders[i].Lots != page.Senders[j].Lots {
			return page.Senders[i].Lots > page.Senders[j].Lots
		}
		return page.Senders[i].Source < page.Senders[j].Source
	})
	page.Form = newForm(db.Findings.Info(), "", map[string]string{}, nil).Only("kind", "value", "note")
	return page, nil
}

// holdFinding adds one finding to every lot that was ticked.
func (a *app) holdFinding(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadHolds(r)
	if err != nil {
		return err
	}
	var lots []uuid.UUID
	for _, text := range r.PostForm["lot"] {
		if id, err := uuid.Parse(text); err == nil {
			lots = append(lots, id)
			page.Chosen[id.String()] = true
		}
	}
	values := readValues(r, db.Findings.Info(), "")
	values["kind"], values["value"] = strings.TrimSpace(values["kind"]), strings.TrimSpace(values["value"])
	if len(lots) == 0 {
		page.Form = newForm(db.Findings.Info(), "", values, nil).Only("kind", "value", "note")
		page.Faults = []formFault{{Text: "No lot is ticked; tick the lots that the finding is about"}}
		return a.render(w, http.StatusUnprocessableEntity, "hold_list", page)
	}
	if err := a.store.AddFindings(r.Context(), db.Base{ID: formID(r, "id"), KeeperID: page.Keeper.ID}, lots, values, page.Env); err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.Form = newForm(db.Findings.Info(), "", values, faults).Only("kind", "value", "note")
		page.Faults = page.Form.Faults
		return a.render(w, http.StatusUnprocessableEntity, "hold_list", page)
	}
	return seeOther(w, r, "/holds?done=added")
}
