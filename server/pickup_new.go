package server

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"skepwood/analytics/screen"
	"skepwood/db"
)

// maxLots bounds the lots of one form.
const maxLots = 40

// pickupPage is the form for a whole visit.
type pickupPage struct {
	base
	ID      string
	Drive   form
	More    form
	Sources []string
	Lots    []lotForm
	Faults  []formFault
}

// lotForm is one lot of the form with its findings.
type lotForm struct {
	Index    int
	ID       string
	Fields   form
	Findings []findingForm
	More     []findingForm
}

// findingForm is one kind of finding as a question of the form.
type findingForm struct {
	ID, Label, Hint, Value, Error string
	Kind                          string
	FreeText                      bool
	Values                        []screen.ValueInfo
	// NoteLabel asks for what some values need beside them, such as who said
	// so; empty where none does.
	NoteLabel, Note, NoteError string
}

// kerbKinds are the findings asked at the kerb, before anything is loaded;
// the lot's own page has all of them.
var kerbKinds = []screen.Kind{"mark", "tag", "cargo", "tint", "stain", "odour", "paint", "ownership"}

// Columns of the pickup form: the drive, and what is seldom needed.
var (
	driveColumns = []string{"source", "day", "distance", "minutes", "cost"}
	moreColumns  = []string{"visit", "currency", "zone", "notes"}
	lotColumns   = []string{"kind", "count", "volume", "place"}
)

func (a *app) pickupNew(w http.ResponseWriter, r *http.Request) error {
	page := &pickupPage{base: a.base(r, "Log a pickup"), ID: newID().String()}
	values := map[string]string{"source": r.URL.Query().Get("source"), "day": page.Env.Now.In(page.Env.Zone).Format("2006-01-02")}
	if source := values["source"]; source != "" {
		usual, err := a.store.UsualDistance(r.Context(), source, page.Env)
		if err != nil {
			return err
		}
		values["distance"] = usual
	}
	page.fill(values, nil)
	page.Lots = []lotForm{newLotForm(0, nil, nil, nil)}
	return a.showPickupForm(w, r, http.StatusOK, page)
}

func (p *pickupPage) fill(values map[string]string, faults db.FieldErrors) {
	all := newForm(db.Pickups.Info(), "", values, faults)
	p.Drive, p.More = all.Only(driveColumns...), all.Only(moreColumns...)
	p.Faults = append(p.Faults, all.Faults...)
}

func (a *app) showPickupForm(w http.ResponseWriter, r *http.Request, status int, page *pickupPage) error {
	names, err := a.store.SourceNames(r.Context())
	if err != nil {
		return err
	}
	page.Sources = names
	return a.render(w, status, "pickup_new", page)
}

// newLotForm lays out lot i with what was typed for it.
func newLotForm(i int, values map[string]string, faults db.FieldErrors, findings map[screen.Kind]typedFinding) lotForm {
	prefix := fmt.Sprintf("lot-%d-", i)
	if values == nil {
		values = map[string]string{"count": "1"}
	}
	l := lotForm{Index: i, ID: newID().String(), Fields: newForm(db.Lots.Info(), prefix, values, faults).Only(lotColumns...)}
	for _, info := range screen.Kinds() {
		typed := findings[info.Kind]
		f := findingForm{ID: prefix + "finding-" + string(info.Kind), Kind: string(info.Kind), Label: info.Label, Hint: info.Hint,
			FreeText: info.FreeText, Values: info.Values, Value: typed.value, Error: typed.problem,
			NoteLabel: noteLabel(info), Note: typed.note, NoteError: typed.noteProblem}
		if isKerb(info.Kind) {
			l.Findings = append(l.Findings, f)
		} else {
			l.More = append(l.More, f)
		}
	}
	return l
}

// Unfold reports whether a fault or an answer lies in the folded part.
func (l lotForm) Unfold() bool {
	for _, f := range l.More {
		if f.Error != "" || f.NoteError != "" || f.Value != "" {
			return true
		}
	}
	return false
}

// Wrong reports whether any of the form's own fields has a fault.
func (f form) Wrong() bool {
	for _, item := range f.Fields {
		if item.Error != "" {
			return true
		}
	}
	return false
}

func isKerb(kind screen.Kind) bool {
	for _, k := range kerbKinds {
		if k == kind {
			return true
		}
	}
	return false
}

// noteLabel joins what the values of a kind ask to be noted.
func noteLabel(info screen.KindInfo) string {
	var asked []string
	for _, label := range append([]string{info.NoteLabel}, noteLabels(info.Values)...) {
		if label != "" && !slices.Contains(asked, label) {
			asked = append(asked, label)
		}
	}
	return strings.Join(asked, "; ")
}

func noteLabels(values []screen.ValueInfo) []string {
	out := make([]string, len(values))
	for i, v := range values {
		out[i] = v.NoteLabel
	}
	return out
}

// typedFinding is what was typed for one kind, and what is wrong with it.
type typedFinding struct {
	value, problem, note, noteProblem string
}

func (a *app) pickupCreate(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page := &pickupPage{base: a.base(r, "Log a pickup"), ID: formID(r, "id").String()}
	sent := a.readPickup(r, page)
	action := r.PostFormValue("action")
	switch {
	case action == "add-lot" && len(sent.lots) < maxLots:
		sent.lots = append(sent.lots, typedLot{id: newID()})
		return a.againPickup(w, r, page, sent, nil, http.StatusOK)
	case len(sent.faults) > 0 || sent.lotFaults():
		return a.againPickup(w, r, page, sent, sent.faults, http.StatusUnprocessableEntity)
	}
	entry := sent.entry(page)
	_, err := a.store.LogPickup(r.Context(), entry)
	var inLot *db.NestedError
	if errors.As(err, &inLot) {
		sent.lots[inLot.Lot].faults = inLot.Faults
		if inLot.Made {
			sent.lots[inLot.Lot].id = newID()
		}
		return a.againPickup(w, r, page, sent, nil, http.StatusUnprocessableEntity)
	}
	if err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		if id := freshID(page.ID, err); id != page.ID {
			page.ID = id
			for i := range sent.lots {
				sent.lots[i].id = newID()
			}
		}
		return a.againPickup(w, r, page, sent, faults, http.StatusUnprocessableEntity)
	}
	return seeOther(w, r, "/pickups/"+entry.Pickup.ID.String()+"?done=logged")
}

// sentPickup is a posted form, parsed as far as it could be.
type sentPickup struct {
	values map[string]string
	pickup db.Pickup
	faults db.FieldErrors
	lots   []typedLot
}

type typedLot struct {
	id       uuid.UUID
	values   map[string]string
	lot      db.Lot
	faults   db.FieldErrors
	findings map[screen.Kind]typedFinding
	parsed   []db.Finding
}

func (s *sentPickup) lotFaults() bool {
	for _, l := range s.lots {
		if len(l.faults) > 0 {
			return true
		}
		for _, f := range l.findings {
			if f.problem != "" || f.noteProblem != "" {
				return true
			}
		}
	}
	return false
}

// readPickup parses the drive and every lot that says what it is.
func (a *app) readPickup(r *http.Request, page *pickupPage) *sentPickup {
	s := &sentPickup{values: readValues(r, db.Pickups.Info(), "")}
	if r.PostFormValue("action") == "empty" {
		s.values["empty"] = "yes"
	}
	s.faults = db.Pickups.Parse(&s.pickup, s.values, page.Env)
	for i := range maxLots {
		if _, sent := r.PostForm[fmt.Sprintf("lot-%d-kind", i)]; !sent {
			break
		}
		if l, used := readLot(r, i, page.Env); used || i == 0 && r.PostFormValue("action") == "add-lot" {
			s.lots = append(s.lots, l)
		}
	}
	empty := s.values["empty"] == "yes"
	switch {
	case empty && len(s.lots) > 0:
		s.faults = append(s.faults, &db.FieldError{Problem: "lots are described below, so the drive did not come home empty",
			Remedy: "clear them, or press “Log this pickup”"})
	case empty:
	case len(s.lots) == 0 && r.PostFormValue("action") != "add-lot":
		s.faults = append(s.faults, &db.FieldError{Problem: "no lot was described",
			Remedy: "say what each lot is, or press “Came home empty”"})
	}
	return s
}

// readLot parses lot i; it reports false for a lot nobody described.
func readLot(r *http.Request, i int, env db.Env) (typedLot, bool) {
	prefix := fmt.Sprintf("lot-%d-", i)
	l := typedLot{id: formID(r, prefix+"id"), values: readValues(r, db.Lots.Info(), prefix), findings: make(map[screen.Kind]typedFinding)}
	used := false
	for name, v := range l.values {
		if strings.TrimSpace(v) != "" && !(name == "count" && strings.TrimSpace(v) == "1") {
			used = true
		}
	}
	for _, info := range screen.Kinds() {
		name := prefix + "finding-" + string(info.Kind)
		value, note := strings.TrimSpace(r.PostFormValue(name)), strings.TrimSpace(r.PostFormValue(name+"-note"))
		if value == "" && note == "" {
			continue
		}
		used = true
		var f db.Finding
		typed := typedFinding{value: value, note: note}
		faults := db.Findings.Parse(&f, map[string]string{"lot": l.id.String(), "kind": string(info.Kind), "value": value, "note": note}, env)
		for _, fault := range faults {
			if fault.Field == "note" {
				typed.noteProblem = fault.Problem + "; " + fault.Remedy
			} else {
				typed.problem = fault.Problem + "; " + fault.Remedy
			}
		}
		l.findings[info.Kind] = typed
		f.ID = derivedFindingID(l.id, info.Kind)
		l.parsed = append(l.parsed, f)
	}
	if used {
		l.values["pickup"] = "this one"
		l.faults = db.Lots.Parse(&l.lot, l.values, env)
	}
	return l, used
}

// derivedFindingID makes the finding's id from its lot's, which the page made:
// a form sent twice brings the same findings.
func derivedFindingID(lot uuid.UUID, kind screen.Kind) uuid.UUID {
	return uuid.NewSHA1(lot, []byte(kind))
}

func (s *sentPickup) entry(page *pickupPage) *db.LoggedPickup {
	keeper := page.Keeper.ID
	out := &db.LoggedPickup{Pickup: s.pickup}
	out.Pickup.Base = db.Base{ID: uuid.MustParse(page.ID), KeeperID: keeper}
	for _, l := range s.lots {
		lot := l.lot
		lot.Base = db.Base{ID: l.id, KeeperID: keeper}
		logged := db.LoggedLot{Lot: lot}
		for _, f := range l.parsed {
			f.KeeperID = keeper
			logged.Findings = append(logged.Findings, f)
		}
		out.Lots = append(out.Lots, logged)
	}
	return out
}

// againPickup shows the form once more with everything that was typed.
func (a *app) againPickup(w http.ResponseWriter, r *http.Request, page *pickupPage, sent *sentPickup, faults db.FieldErrors, status int) error {
	page.fill(sent.values, faults)
	if len(sent.lots) == 0 {
		sent.lots = []typedLot{{id: newID()}}
	}
	for i, l := range sent.lots {
		lf := newLotForm(i, l.values, l.faults, l.findings)
		lf.ID = l.id.String()
		page.Lots = append(page.Lots, lf)
		for _, f := range lf.Fields.Faults {
			page.Faults = append(page.Faults, formFault{ID: f.ID, Text: "Lot " + strconv.Itoa(i+1) + ": " + f.Text})
		}
		for _, f := range append(lf.Findings, lf.More...) {
			if f.Error != "" {
				page.Faults = append(page.Faults, formFault{ID: f.ID, Text: "Lot " + strconv.Itoa(i+1) + ": " + f.Label + ": " + f.Error})
			}
			if f.NoteError != "" {
				page.Faults = append(page.Faults, formFault{ID: f.ID + "-note", Text: "Lot " + strconv.Itoa(i+1) + ": note on " + f.Label + ": " + f.NoteError})
			}
		}
	}
	return a.showPickupForm(w, r, status, page)
}
