package screen

import (
	"slices"
	"strings"
)

// setAside applies the recorded misreadings. One that gives no reason, names no
// entry or is dated in the future has no effect, and a note says so. A
// misreading cannot be misread in turn: the book strikes a wrong one.
func (h *hearing) setAside() {
	for i := range h.findings {
		f := &h.findings[i]
		switch {
		case f.Kind != kindMisreading || f.Struck:
			continue
		case !says(f.Note):
			h.note(i, "This misreading has no effect until it says what it really is and how you know.")
			continue
		case h.list[i].day > h.latestDay():
			continue // hear has said so
		}
		if !h.setAsideNamed(int32(i), strings.Trim(f.Value, space)) {
			h.note(i, "This misreading names no entry here; give the entry's id, or kind=value.")
		}
	}
}

// setAsideNamed sets aside every finding with that id or, failing that, every
// finding that reads kind=value on the same piece of wood; it reports whether
// there was one. Of several misreadings of one finding the first counts.
func (h *hearing) setAsideNamed(by int32, name string) bool {
	if name == "" {
		return false
	}
	// Ids go first: in the book every entry has one, and kind=value may fit
	// several entries, which is right only where no id was given.
	found := false
	for _, named := range []func(int) bool{
		func(i int) bool { return h.findings[i].ID == name },
		func(i int) bool { return h.list[i].place == h.list[by].place && h.goesBy(i, name) },
	} {
		for i := range h.findings {
			f := &h.findings[i]
			if f.Kind == kindMisreading || f.Struck || !named(i) || !h.mayAnswer(by, i) {
				continue
			}
			found = true
			e := &h.list[i]
			e.clears = false
			if e.aside < 0 {
				e.aside = by
			}
		}
		if found {
			return true
		}
	}
	return false
}

// NamesEntry reports whether a recorded misreading names an entry it can set
// aside: by its id or, of the same piece of wood, by kind=value. For a misreading
// on the lot, board holds the findings of all its boards; for one on a board,
// those of that board and of what it was cut from. Struck entries and other
// misreadings cannot be named.
func NamesEntry(lot, board []Finding, misreading Finding) bool {
	name := strings.Trim(misreading.Value, space)
	kind, value, pair := strings.Cut(name, "=")
	same := lot
	if !misreading.OfLot() {
		same = board
	}
	can := func(f Finding) bool { return !f.Struck && f.Kind != kindMisreading }
	byID := func(f Finding) bool { return can(f) && name != "" && f.ID == name }
	byName := func(f Finding) bool {
		return can(f) && pair && strings.Trim(kind, space) == string(f.Kind) && normalise(value) == normalise(f.Value)
	}
	return slices.ContainsFunc(lot, byID) || slices.ContainsFunc(board, byID) || slices.ContainsFunc(same, byName)
}

// mayAnswer reports whether a misreading recorded on one piece of wood may set
// aside what was seen on another: the lot's for its boards, and a board's for
// its lot only where that board alone is judged.
func (h *hearing) mayAnswer(by int32, i int) bool {
	at := h.list[by].place
	return at == lotPlace || at == h.list[i].place || h.board
}

// goesBy reports whether name is the finding's "kind=value". The value is
// compared as choices are.
func (h *hearing) goesBy(i int, name string) bool {
	f := &h.findings[i]
	kind, value, ok := strings.Cut(name, "=")
	return ok && strings.Trim(kind, space) == string(f.Kind) && normalise(value) == normalise(f.Value)
}
