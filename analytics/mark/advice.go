package mark

import (
	"fmt"
	"slices"
	"strings"
)

var ordinals = [...]string{"first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"}

// place names a sign of a word by its place, counted from 0.
func place(at int) string {
	if at < len(ordinals) {
		return ordinals[at]
	}
	return fmt.Sprintf("%d.", at+1)
}

// lookAgain names the signs of a word that are worn or may be look-alikes, with
// what would fit.
func lookAgain(typed, what string, fits []candidate) string {
	const shown = 6
	var reasons []string
	for i, c := range fits {
		if i == shown {
			reasons = append(reasons, fmt.Sprintf("%d more", len(fits)-shown))
			break
		}
		reasons = append(reasons, c.reason(typed))
	}
	return fmt.Sprintf("look again at %s: %s", strings.TrimSpace(what+" "+typed), strings.Join(reasons, ", "))
}

// reason says in one clause why the candidate fits what was typed.
func (c candidate) reason(typed string) string {
	switch {
	case c.at >= len(typed) || c.at >= len(c.form):
		return "a question mark stands after " + c.form
	case typed[c.at] == wornSign:
		return fmt.Sprintf("%s fits the worn %s letter", c.form, place(c.at))
	}
	return fmt.Sprintf("it is %s if the %s letter %c is %c", c.form, place(c.at), typed[c.at], c.form[c.at])
}

// advise says what to look at next: doubts first, then what contradicts, then
// what is missing, then remarks.
func advise(r *Reading, s *scanner, f folded) []string {
	out := []string{}
	add := func(when bool, text string) {
		if when && !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	for i := range s.slots {
		add(s.slots[i].advice != "", s.slots[i].advice)
	}
	s.adviseDoubts(add, f)
	r.adviseContradictions(add)
	r.adviseMissing(add)
	r.adviseRemarks(add)
	add(r.More > 0, fmt.Sprintf("too many readings fit to list them all: %d more, at the most, are not shown", r.More))
	add(len(r.Readings) == 0, "nothing was read: type the letters and numbers that are stamped, branded or tagged")
	return atMost(out, maxAdvice, "and %d further remarks")
}

// Bounds on what one answer says, so that a page of noise gives a short answer.
const (
	maxAdvice  = 24
	maxAssumed = 12
)

// atMost cuts a list and says how much was cut.
func atMost(list []string, most int, rest string) []string {
	if len(list) <= most {
		return list
	}
	return append(list[:most:most], fmt.Sprintf(rest, len(list)-most))
}

// adviseDoubts names the grounds to distrust the text as a whole, each with what
// the person can do about it.
func (s *scanner) adviseDoubts(add func(bool, string), f folded) {
	d := s.doubts
	add(d.cut, fmt.Sprintf("only the first %d characters were read, %d were not: type the mark alone", MaxRunes, f.beyond))
	add(d.turned, "the text holds marks that turn its direction, so it may look different from what was read: type it again")
	add(d.worn, "a word is too worn to read: look at the other side, or rub chalk over it")
	add(d.asked, "a question mark stands by itself: put it in the place of the letter that is in doubt")
	add(d.prose || d.denied, "type only what stands on the wood: with other words around it nothing counts as surely read")
	add(strings.ContainsFunc(f.text, func(r rune) bool { return 'a' <= r && r <= 'z' }),
		"some letters are of another alphabet and only look Latin: type them again")
	add(f.unread > 0, fmt.Sprintf("signs that are no letters or digits of a mark: %d; retype the mark if they hide one", f.unread))
}

// adviseContradictions names what cannot be so: these are the cheapest
// misreadings to settle, since the person still stands before the wood.
func (r *Reading) adviseContradictions(add func(bool, string)) {
	two := len(r.Treatments) > 1
	add(two, "two treatment codes: they may belong to different boards; the more severe one counts")
	if len(r.Unknown) > 0 {
		add(true, "unknown code "+strings.Join(r.Unknown, " ")+": a treatment is HT, DH, MB or SF; look again")
	}
	if r.Certainty[FieldCountry] == CertaintyContradictory && r.CountryStatus == "" {
		add(true, "more than one country fits: read each mark by itself, or look again")
	}
	add(r.Certainty[FieldMoisture] == CertaintyContradictory, "green and dry on one stamp: two boards, or a misreading")
	switch r.CountryStatus {
	case UserAssigned:
		add(true, r.Country+" is no country: ISO 3166 leaves it to private use (XX is the placeholder of the standard)")
	case Reserved:
		add(true, "the country code is reserved, not in force ("+r.CountryName+"): look again, or note who stamps like this")
	case Unassigned:
		add(true, "the two letters in the country's place are no country of ISO 3166: look again")
	case Retired:
		c, _ := CountryByCode(r.Country)
		add(true, r.Country+" ("+c.Name+") was given up in "+c.Until+", "+c.Note+": an old mark or a misreading; no mark is older than 2002")
	}
	if slices.Contains(r.Treatments, "MB") {
		if date, _, ok := Withdrawal(r.Country); ok {
			add(true, "MB with "+r.Country+": older than "+date.Format("January 2006")+", or misread; look again at the treatment")
		}
	}
}

// adviseMissing says where a missing part of a packaging mark usually stands. It
// is silent where nothing of such a mark was seen, and does not ask a lumber
// stamp for a symbol it never has.
func (r *Reading) adviseMissing(add func(bool, string)) {
	missing := func(field string) bool { return r.Certainty[field] == CertaintyMissing }
	if missing(FieldSymbol) && missing(FieldCountry) && missing(FieldTreatment) {
		return
	}
	add(missing(FieldTreatment), "no treatment code: look below the country and producer, and on the other side, for HT, MB, DH or SF")
	lumber := r.GradeStamp && missing(FieldSymbol) && missing(FieldCountry)
	add(!lumber && missing(FieldSymbol), "no symbol: look left of the codes for the ear of wheat with the letters IPPC")
	add(!lumber && missing(FieldCountry), "no country: look above or left of the treatment for two letters and a hyphen")
	add(!lumber && missing(FieldProducer), "no producer: look after the country's two letters for a number")
}

// adviseRemarks says what the reading leaves open. It never calls wood safe: a
// mark tells of a treatment, not of what happened to the wood after.
func (r *Reading) adviseRemarks(add func(bool, string)) {
	add(r.Symbol == "IPCC", "IPCC is a common misspelling of IPPC: look what the wood says")
	add(r.Ownership != "", "somebody claims this wood: leave it, or get a written release from the owner")
	add(r.Treated, "preservative-treated: look for an end tag, slits and the use category")
	add(slices.Contains(r.DangerousGoods, "UN3359"), "fumigated unit: ask which gas and which container, and open it outdoors")
	add(len(r.Cargo)+len(r.DangerousGoods) > 0, "a code of chemical cargo: ask the shipper what was on it")
	add(r.Dunnage, "dunnage: marks repeat along the piece, compare two of them")
	add(r.Repair, "repaired: look for a mark on every board that looks different")
	fumigated := slices.ContainsFunc(r.Treatments, IsFumigant)
	add(fumigated, "fumigated: no residue study of hive wood or wax was found, and airing only reduces the gas")
	add(r.Complete && !fumigated, "the mark tells of the treatment only: look for stains, tags, odour, and ask for the cargo")
}
