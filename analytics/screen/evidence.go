package screen

import (
	"math"
	"time"
)

// longestReason bounds how much of a person's reason is repeated, in characters.
const longestReason = 400

// Where a finding stands: the lot is place 0, boards count from 1.
const lotPlace = 0

// noDay is the day of a finding whose date is not known.
const noDay = math.MinInt32

// evidence is one finding as the rules see it.
type evidence struct {
	facts  []factID
	place  int32
	day    int32 // days since 1970-01-01 UTC, or noDay
	aside  int32 // index of the misreading that sets it aside, else -1
	clears bool  // it may answer a reason or stand for a clean history
	dated  bool
	piece  bool
}

// hearing is one call of the judge.
type hearing struct {
	t        *tableSet
	findings []Finding
	opts     Options
	board    bool // lot evidence and board evidence are about one board
	list     []evidence
	present  factSet // facts of findings not set aside
	clearing factSet // facts of findings that may clear
	imagined imagined
	notes    []Note
}

// hear turns the findings into evidence: facts, place, day, and whether each
// may clear anything.
func (h *hearing) hear() {
	misread := h.gather()
	if misread {
		h.setAside()
	}
	// What was set aside is neither present nor clears; what is unsure (an entry of
	// the future, a statement without a name) is present against the wood only.
	for i := range h.list {
		e := &h.list[i]
		for _, f := range e.facts {
			if e.aside < 0 {
				h.present.add(f)
			}
			if e.clears {
				h.clearing.add(f)
			}
		}
	}
}

// gather reads the findings one by one and reports whether any is a misreading.
func (h *hearing) gather() bool {
	h.list = make([]evidence, 0, len(h.findings)+1)
	h.list = append(h.list, h.imagined.known...)
	var boards map[string]int32
	latest := h.latestDay()
	misread := false
	for i := range h.findings {
		f := &h.findings[i]
		misread = misread || f.Kind == kindMisreading
		if i < len(h.imagined.known) {
			continue
		}
		// Most sets are about the lot alone and need no numbering of boards.
		if boards == nil && !h.board && !f.OfLot() {
			boards = map[string]int32{}
		}
		e := evidence{place: h.place(f, boards), day: dayOf(f.At), aside: -1}
		if !f.Struck {
			e.facts, e.clears = h.read(i, &e)
			if e.day > latest {
				e.clears = false
				h.note(i, "This entry is dated in the future: it counts against the wood and clears nothing until the date is put right.")
			}
		}
		h.list = append(h.list, e)
	}
	if len(h.imagined.facts) > 0 {
		h.list = append(h.list, h.imaginedMark())
	}
	return misread
}

// imaginedMark is the mark a look might show.
func (h *hearing) imaginedMark() evidence {
	e := evidence{facts: h.imagined.facts, place: lotPlace, day: noDay, aside: -1, clears: true}
	if h.board {
		e.place = 1
	}
	return e
}

// latestDay is the last day a finding may carry without being in the future:
// tomorrow, since a phone may be a day ahead of the server's zone.
func (h *hearing) latestDay() int32 {
	if h.opts.Today.IsZero() {
		return math.MaxInt32
	}
	return dayOf(h.opts.Today) + 1
}

// place numbers the piece of wood a finding is about.
func (h *hearing) place(f *Finding, boards map[string]int32) int32 {
	switch {
	case f.OfLot():
		return lotPlace
	case h.board:
		return 1
	}
	n, ok := boards[f.On]
	if !ok {
		n = int32(len(boards)) + 1
		boards[f.On] = n
	}
	return n
}

// read gives the facts of one finding and whether it may clear.
func (h *hearing) read(i int, e *evidence) ([]factID, bool) {
	f := &h.findings[i]
	k, ok := h.t.kindByName[f.Kind]
	if !ok {
		h.note(i, "The rules know no kind of finding called “"+clip(string(f.Kind))+"”.")
		return h.t.unknownKind, false
	}
	e.dated, e.piece = k.info.Dated, k.piece
	switch {
	case f.Kind == kindMisreading:
		// It speaks of another entry, not of the wood.
		return nil, false
	case f.Kind == kindDisagreement:
		h.note(i, "Disagreement recorded ("+clip(f.Value)+"): "+cut(f.Note, longestReason))
		return nil, false
	case k.info.Number:
		if facts, ok := k.band(f.Value); ok {
			return facts, true
		}
		h.note(i, "“"+clip(f.Value)+"” is no "+k.numberLabel()+" the rules can read; "+k.numberHelp()+".")
		return k.unknown, false
	}
	if v, ok := k.value(f.Value); ok && (k.info.Read != readsMark || v.info.Own) {
		if v.note && i < h.imagined.from && !says(f.Note) {
			h.note(i, "This entry clears nothing until it says "+k.noteLabel(v)+".")
			return v.facts, false
		}
		return v.facts, true
	}
	switch {
	case k.info.Read == readsMark:
		return h.readText(i, k)
	case k.info.FreeText:
		return k.any, false
	}
	h.note(i, "“"+clip(f.Value)+"” is no value the rules know for “"+k.info.Label+"”.")
	return k.unknown, false
}

func (h *hearing) note(finding int, text string) {
	h.notes = append(h.notes, Note{Finding: finding, Text: text})
}

// dayOf is the UTC day of a time, counted from 1970-01-01, or noDay.
func dayOf(at time.Time) int32 {
	if at.IsZero() {
		return noDay
	}
	const secondsPerDay = 24 * 60 * 60
	day := at.Unix() / secondsPerDay
	if at.Unix()%secondsPerDay < 0 {
		day--
	}
	return int32(min(max(day, math.MinInt32+1), math.MaxInt32-1))
}
