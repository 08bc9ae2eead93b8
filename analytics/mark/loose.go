package mark

import "strings"

// loose reads a token that starts neither a code nor a country with a producer,
// and returns how many tokens it took.
func (s *scanner) loose(tokens []token, i int, afterSymbol bool) int {
	tok := tokens[i]
	switch {
	case tok.text == string(wornSign):
		if i+1 < len(tokens) && len(tokens[i+1].text) == 1 {
			break // half of a word spelled out, such as "? T"
		}
		s.doubts.asked = true
		return 1
	case strings.Trim(tok.text, string(wornSign)) == "":
		s.add(s.wornWord(tok.text))
		return 1
	}
	if s.loneCountry(tokens, i, afterSymbol) {
		return 1
	}
	if width := s.broken(tokens, i); width > 0 {
		return width
	}
	if sl, ok := s.glued(tok); ok {
		s.add(sl)
		return 1
	}
	loose := looseItem(tok)
	loose.alone = len(tokens) == 1
	if loose.kind == itemWord {
		s.words++
	}
	s.add(s.mistaken(tok.text, loose))
	return 1
}

// broken reads a code with worn or mistyped signs that is written apart, such as
// "H ?" or S-GR?, and returns the tokens it took, or 0.
func (s *scanner) broken(tokens []token, i int) int {
	if i+1 >= len(tokens) {
		return 0
	}
	a, b := tokens[i], tokens[i+1]
	short := len(a.text) == 1 && len(b.text) == 1
	if !short && b.join != '-' || s.t.phrase(tokens, i+1) != nil {
		return 0
	}
	joined := a.text + b.text
	if len(s.t.candidates(joined, s.inMark())) == 0 {
		return 0
	}
	s.add(s.mistaken(joined, item{kind: itemNumber, text: joined}))
	return 2
}

// inMark reports whether the text shows a packaging mark at all.
func (s *scanner) inMark() bool { return s.ctx.heads || s.ctx.symbol }

// wornWord makes the slot of a word without one legible letter. With two letters
// and no treatment elsewhere it may be any treatment.
func (s *scanner) wornWord(text string) slot {
	s.doubts.worn = true
	out := slot{key: "word " + text, options: []option{{items: []item{{kind: itemExtra, text: text}}, blank: true}}}
	if len(text) != 2 || s.ctx.treatment {
		return out
	}
	out.advice = "look again at the two worn letters " + text + ": they may be the treatment"
	for _, c := range s.t.anyTreatment() {
		out.options = append(out.options, c.option(text))
	}
	return out
}

// anyTreatment lists the treatments, which two worn letters may be.
func (t *tableSet) anyTreatment() []candidate {
	var out []candidate
	for _, r := range t.rows {
		if r.Code.Class == ClassTreatment && IsTreatment(r.Code.Text) {
			out = append(out, candidate{row: r, form: r.Code.Text})
		}
	}
	return out
}

// mistaken makes the slot of a word that is no code, with the codes that it may
// stand for. With all letters legible, what was typed fits too.
func (s *scanner) mistaken(text string, typed item) slot {
	all := s.t.candidates(text, s.inMark())
	if len(all) == 0 {
		if strings.ContainsRune(text, wornSign) {
			s.doubts.worn = true
			typed.kind = itemExtra
		}
		return sure(typed)
	}
	worn := strings.ContainsRune(text, wornSign)
	first := option{items: []item{typed}}
	if worn {
		first = option{items: []item{{kind: itemExtra, text: text}}, blank: true}
	}
	out := slot{key: "word " + text, options: []option{first}, advice: lookAgain(text, "", all)}
	for _, c := range all {
		out.options = append(out.options, c.option(text))
	}
	return out
}

// option is the reading of a text as the candidate.
func (c candidate) option(text string) option {
	return option{
		items:   []item{{kind: itemCode, text: c.form, row: c.row, assumed: true}},
		assumed: text + " stands for " + c.row.Code.Text,
	}
}

// glued reads a country written together with its producer (US12345), when the
// text has no clear country.
func (s *scanner) glued(tok token) (slot, bool) {
	if s.ctx.heads || len(tok.text) < 3 || !isLetters(tok.text[:2]) || !isDigit(tok.text[2]) {
		return slot{}, false
	}
	c, _ := CountryByCode(tok.text[:2])
	if c.Status != Official && c.Status != Retired {
		return slot{}, false
	}
	country := item{kind: itemCountry, text: c.Code, assumed: true}
	out := slot{key: "both " + tok.text, advice: "look whether " + tok.text + " is country and producer: type a hyphen between them"}
	h := &head{producer: tok.text[2:]}
	for _, o := range s.producerSlot(h).options {
		for k := range o.items {
			o.items[k].assumed = true
		}
		o.items = append([]item{country}, o.items...)
		o.assumed = strings.TrimPrefix(o.assumed+"; "+c.Code+" at the start of "+tok.text+" is the country", "; ")
		out.options = append(out.options, o)
	}
	out.options = append(out.options, option{items: []item{looseItem(tok)}, assumed: tok.text + " is a number, not a country and producer"})
	return out, true
}

// loneCountry adds the token as the country when it stands in a country's place
// without a producer: right after the symbol, or as the only word of a part that
// otherwise holds codes and numbers; and only if the text has no clear country.
func (s *scanner) loneCountry(tokens []token, i int, afterSymbol bool) bool {
	tok := tokens[i]
	if s.ctx.heads || len(tok.text) != 2 || !isLetters(tok.text) {
		return false
	}
	c, ok := CountryByCode(tok.text)
	if !ok {
		return false
	}
	for k := 0; k < len(tokens) && !afterSymbol; k++ {
		if k == i || !isLetters(tokens[k].text) {
			continue
		}
		ph := s.t.phrase(tokens, k)
		if ph == nil || ph.row.Code.Class == ClassPlain || ph.row.Code.Class == ClassNegation {
			return false
		}
		k += ph.width - 1
	}
	s.add(s.countrySlot(tok, c.Status))
	return true
}
