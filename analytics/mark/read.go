package mark

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// moreAtMost is where counting the readings that are not listed stops: the count
// is for a person, and the product of a page of noise has no bound.
const moreAtMost = 1_000_000

// Read reads a mark from text as a person types it off the wood: one or several
// lines, any case, with spaces, dots, slashes or hyphens. It always answers:
// what it cannot read is named in Advice and leaves its field Missing,
// Assumed or Contradictory. The result does not depend on case, on the amount
// of space, or on the order of the lines (as long as nothing lies beyond MaxRunes).
func Read(text string) Reading {
	t := tables()
	f := t.foldText(text)
	s := scan(t, parts(f.text))
	s.doubts.turned, s.doubts.cut = f.turned, f.beyond > 0
	s.slots = distinct(s.slots)

	top := assemble(s.literal())
	r := Reading{
		Text: prefix(text), Fields: top.Fields, UnreadRunes: f.beyond, Codes: codesOf(top),
	}
	var listed []*built
	r.Readings, listed, r.More = s.readings()
	r.Certainty = certainty(top, listed, s.doubts)
	if c, ok := CountryByCode(onlyCountry(top)); ok {
		r.CountryName = c.Name
	}
	r.Complete = complete(&r, listed)
	r.Advice = advise(&r, s, f)
	return r
}

// prefix is the part of the text that was read, as valid UTF-8.
func prefix(text string) string {
	end, count := len(text), 0
	for i := range text {
		if count++; count > MaxRunes {
			end = i
			break
		}
	}
	return strings.ToValidUTF8(text[:end], string(utf8.RuneError))
}

// distinct drops slots that repeat a doubt: the same word read twice is read
// alike both times.
func distinct(slots []slot) []slot {
	seen := map[string]bool{}
	return slices.DeleteFunc(slots, func(sl slot) bool {
		if sl.key == "" {
			return false
		}
		again := seen[sl.key]
		seen[sl.key] = true
		return again
	})
}

// literal gives the items of the reading itself: what was typed, and nothing
// where letters are worn.
func (s *scanner) literal() []item {
	var items []item
	for _, sl := range s.slots {
		items = append(items, sl.options[0].items...)
	}
	return items
}

// choice is one way to read every slot, as an index into its listed options.
type choice []int

// readings lists the readings that fit: all of them up to MaxReadings, and past
// that a set in which every option of every slot occurs. Ways that come to the
// same fields (a number that is a lot number either way) are one reading, and the
// first, with the fewest assumptions, is kept.
func (s *scanner) readings() (out []Alternative, listed []*built, more int) {
	if len(s.slots) == 0 {
		return []Alternative{}, nil, 0
	}
	choices, total := s.choices()
	seen := map[string]bool{}
	for _, c := range choices {
		items, assumed := s.chosen(c)
		b := assemble(items)
		key := identity(b)
		if seen[key] {
			continue
		}
		seen[key] = true
		listed = append(listed, b)
		out = append(out, Alternative{Fields: b.Fields, Assumed: assumed})
	}
	return out, listed, max(0, total-len(choices))
}

// choices lists ways to read all slots together, and counts all that fit.
// When there are too many, the k-th of the first ways takes the k-th option of
// every slot at once, so that no option is lost.
func (s *scanner) choices() (out []choice, total int) {
	total, kept, widest := 1, 1, 1
	sizes := make([]int, len(s.slots))
	for i := range s.slots {
		sizes[i] = len(s.slots[i].listed())
		widest = max(widest, sizes[i])
		kept = min(kept*sizes[i], moreAtMost)
		total = min(total*(sizes[i]+s.slots[i].more), moreAtMost)
	}
	if kept > MaxReadings {
		for k := range widest {
			c := make(choice, len(sizes))
			for i, n := range sizes {
				c[i] = k % n
			}
			out = append(out, c)
		}
	}
	for c := make(choice, len(sizes)); len(out) < min(kept, MaxReadings); {
		if !slices.ContainsFunc(out, func(o choice) bool { return slices.Equal(o, c) }) {
			out = append(out, slices.Clone(c))
		}
		if !c.next(sizes) {
			break
		}
	}
	return out, total
}

// next counts up, the last slot fastest, and reports false after the last way.
func (c choice) next(sizes []int) bool {
	for i := len(c) - 1; i >= 0; i-- {
		if c[i]++; c[i] < sizes[i] {
			return true
		}
		c[i] = 0
	}
	return false
}

// chosen gives the items of a choice and what they take for granted.
func (s *scanner) chosen(c choice) (items []item, assumed []string) {
	assumed = []string{}
	for i := range s.slots {
		o := s.slots[i].listed()[c[i]]
		items = append(items, o.items...)
		if o.assumed != "" {
			assumed = append(assumed, o.assumed)
		}
	}
	return items, atMost(assumed, maxAssumed, "and %d further assumptions")
}

// identity is a text that two readings share only if all their fields are equal.
// Values hold no NUL, so it can stand between them.
func identity(b *built) string {
	var out strings.Builder
	for _, field := range allFields {
		out.WriteString(value(b, field))
		out.WriteByte(0)
	}
	for _, list := range [][]string{b.Unknown, b.Extra} {
		out.WriteString(strings.Join(list, " "))
		out.WriteByte(0)
	}
	out.WriteString(string(b.CountryStatus))
	if b.Treated {
		out.WriteByte('T')
	}
	if b.GradeStamp {
		out.WriteByte('G')
	}
	return out.String()
}

// codesOf lists the codes of the reading, each once, by class and text.
func codesOf(b *built) []Code {
	out := []Code{}
	for _, r := range b.codes {
		out = append(out, r.Code)
	}
	for _, text := range unique(b.country) {
		c, ok := CountryByCode(text)
		code := Code{Text: text, Class: ClassCountry, Meaning: c.Name, Source: c.Source, Status: c.Standing}
		if !ok {
			code.Meaning, code.Source, code.Status = "no country code", "ISO 3166", "checked"
		}
		if c.Note != "" {
			code.Meaning += ": " + c.Note
		}
		if c.Status == Official {
			code.Meaning += ": where the wood was treated or the packaging made, not where the goods came from"
		}
		out = append(out, code)
	}
	if b.Producer != "" {
		out = append(out, Code{
			Text: b.Producer, Class: ClassProducer, Status: "checked",
			Meaning: "who made or treated the packaging; each country keeps its own list, there is no public world register",
			Source:  "ISPM 15 annex 2 (machine translation); UK programme: http://ukwpmmp.org/Requirements/Default.asp",
		})
	}
	sortCodes(out)
	return slices.CompactFunc(out, func(a, b Code) bool { return a.Text == b.Text && a.Class == b.Class })
}

// onlyCountry is the code in the country's place, whatever its standing, or
// empty when there are several or none.
func onlyCountry(b *built) string {
	codes := unique(b.country)
	if len(codes) != 1 {
		return ""
	}
	return codes[0]
}

// complete reports whether the four parts of a mark are all there (ISPM 15 annex
// 2: symbol, country, producer, treatment) and none of them is in doubt. Symbol,
// country and producer may rest on an assumption, such as a misspelt symbol; the
// treatment must be read, since the verdict hangs on it.
func complete(r *Reading, listed []*built) bool {
	for _, field := range []string{FieldSymbol, FieldCountry, FieldProducer} {
		if c := r.Certainty[field]; c != CertaintyRead && c != CertaintyAssumed {
			return false
		}
	}
	if r.Symbol == "" || r.Country == "" || r.Producer == "" || len(r.Treatments) != 1 || len(r.Unknown) > 0 {
		return false
	}
	for _, b := range listed {
		if value(b, FieldTreatment) != value(listed[0], FieldTreatment) {
			return false
		}
	}
	return r.Certainty[FieldTreatment] == CertaintyRead
}
