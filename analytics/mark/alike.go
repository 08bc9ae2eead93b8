package mark

import "strings"

// swap compares a sign that was typed with one that may have been meant.
// ok is false when nothing makes one of the other; worn and taken tell how.
func (t *tableSet) swap(typed, meant byte, treatment bool) (worn, taken, ok bool) {
	switch {
	case typed == meant:
		return false, false, true
	case typed == wornSign:
		return true, false, true
	}
	for _, pair := range t.alike {
		if pair.Treatment && !treatment {
			continue
		}
		if pair.A[0] == typed && pair.B[0] == meant || pair.B[0] == typed && pair.A[0] == meant {
			return false, true, true
		}
	}
	return false, false, false
}

// fits reports whether typed may stand for meant: every worn sign counts as any
// sign, or else one sign (and only one) is taken for its look-alike. at is the
// place of the first sign that differs.
func (t *tableSet) fits(typed, meant string, treatment bool) (at int, ok bool) {
	if len(typed) != len(meant) || typed == meant {
		return 0, false
	}
	wornCount, takenCount, at := 0, 0, -1
	for i := range len(typed) {
		worn, taken, ok := t.swap(typed[i], meant[i], treatment)
		if !ok {
			return 0, false
		}
		if worn || taken {
			if at < 0 {
				at = i
			}
		}
		if worn {
			wornCount++
		}
		if taken {
			takenCount++
		}
	}
	return at, takenCount == 0 && wornCount < len(typed) || takenCount == 1 && wornCount == 0
}

// candidate is a code that a token may stand for.
type candidate struct {
	row  *row
	form string
	at   int // place of the first sign that differs
}

// candidates lists the codes that a token may stand for, in the order of the
// table, each once. inMark says that the token stands in a packaging mark, where
// a worn H? is no hazard class.
func (t *tableSet) candidates(text string, inMark bool) []candidate {
	var out []candidate
	if strings.Trim(text, "0123456789") == "" {
		return nil
	}
	bare := strings.TrimRight(text, string(wornSign))
	for _, r := range t.rows {
		if !mistakable(r.Code.Class) || inMark && r.Code.Class == ClassUseCategory && len(text) <= 2 {
			continue
		}
		for _, form := range r.Forms {
			treatment := len(form) == 2 && isMarkClass(r.Code.Class)
			if at, ok := t.fits(text, form, treatment); ok {
				out = append(out, candidate{r, form, at})
				break
			}
			if form == bare && bare != text {
				out = append(out, candidate{r, form, len(bare)})
				break
			}
		}
	}
	return out
}

// mistakable reports whether a code of the class may hide behind worn or
// swapped letters. Plain words may not: nobody stamps them.
func mistakable(c Class) bool {
	switch c {
	case ClassWord, ClassPlain, ClassNegation, ClassLot, ClassOwnership, ClassUnknown, ClassRepair, ClassGrade:
		return false
	}
	return true
}

// isMarkClass reports whether codes of the class stand in a packaging mark.
func isMarkClass(c Class) bool {
	return c == ClassTreatment || c == ClassDebarked || c == ClassKiln
}

// countryCandidates lists the countries a worn or mistyped code may stand for:
// those in force, and those given up after the first mark of 2002.
func (t *tableSet) countryCandidates(text string) []Country {
	const firstMark = "2002"
	var out []Country
	for _, c := range t.countries {
		if c.Status != Official && (c.Status != Retired || c.Until < firstMark) {
			continue
		}
		allWorn := strings.Trim(text, string(wornSign)) == ""
		if _, ok := t.fits(text, c.Code, false); ok || allWorn {
			out = append(out, c)
		}
	}
	return out
}

// producerTwin returns the producer code with the first letter that stands among
// digits read as the digit it looks like. Producer codes may hold letters
// (ISPM 15 leaves their shape to each country), so this is named, not corrected.
func (t *tableSet) producerTwin(text string) (twin string, at int, ok bool) {
	for i := range len(text) {
		if isDigit(text[i]) {
			continue
		}
		left, right := i > 0 && isDigit(text[i-1]), i+1 < len(text) && isDigit(text[i+1])
		edge := i == 0 && right || i == len(text)-1 && left
		for _, pair := range t.alike {
			if pair.A[0] == text[i] && isDigit(pair.B[0]) && (left && right || edge && pair.Edge) {
				return text[:i] + pair.B + text[i+1:], i, true
			}
		}
	}
	return "", 0, false
}
