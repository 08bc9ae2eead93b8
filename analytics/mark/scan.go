package mark

import "strings"

// context is what a first pass over the text finds, so that the second can tell
// a country from a word and a producer from a code.
type context struct {
	heads     bool // a country of ISO 3166 with a producer, that is nothing else
	symbol    bool
	treatment bool
	tag       bool // a use category or other words of a preservative tag
}

// scanner turns parts into slots.
type scanner struct {
	t      *tableSet
	ctx    context
	found  context
	slots  []slot
	doubts doubts
	words  int // loose words met
	plain  int // plain words met
}

// add takes a slot.
func (s *scanner) add(sl slot) { s.slots = append(s.slots, sl) }

// With more words than these a text is somebody's sentence, not what stands on
// the wood: agency and mill names take up to three words, and hardly any mark
// holds a plain word.
const (
	mostPlain = 1
	mostWords = 3
)

// scan reads all parts twice: once for the context, once for the slots.
func scan(t *tableSet, list []part) *scanner {
	first := &scanner{t: t}
	for _, p := range list {
		first.part(p)
	}
	s := &scanner{t: t, ctx: first.found}
	for _, p := range list {
		s.part(p)
	}
	s.doubts.prose = s.plain > mostPlain || s.plain+s.words > mostWords
	return s
}

// part reads one part, left to right; what starts at a token takes its tokens.
func (s *scanner) part(p part) {
	if p.date != "" {
		s.add(sure(item{kind: itemLot, text: p.date}))
		return
	}
	afterSymbol := false
	for i := 0; i < len(p.tokens); {
		ph, h := s.t.phrase(p.tokens, i), s.head(p.tokens, i, afterSymbol)
		symbol := ph != nil && ph.row.Code.Class == ClassSymbol
		switch {
		case ph != nil && h != nil:
			i += s.either(p.tokens, i, ph, h, afterSymbol)
		case h != nil:
			s.found.heads = s.found.heads || h.isExact()
			i += s.addHead(h)
		case ph != nil:
			i += s.addPhrase(p.tokens, i, ph, afterSymbol)
		default:
			i += s.loose(p.tokens, i, afterSymbol)
		}
		afterSymbol = symbol
	}
}

// either decides where a known code is also a country with a producer after it:
// HT-12 may be Haiti, CA-B 12 Canada. Straight after the symbol the country comes
// first; where the text has a clear country elsewhere, the code stands alone.
func (s *scanner) either(tokens []token, i int, ph *phrase, h *head, afterSymbol bool) int {
	plain := ph.row.Code.Class == ClassPlain || ph.row.Code.Class == ClassNegation
	// The place right of the symbol is the country's, once the treatment is known.
	placed := afterSymbol && h.hyphen && s.ctx.treatment && ph.row.Code.Class != ClassPreservative
	switch {
	case plain && (afterSymbol || h.hyphen || i == 0), placed && h.isExact():
		s.found.heads = s.found.heads || h.isExact()
		return s.addHead(h)
	case plain || !h.isExact() || s.ctx.tag && ph.row.Code.Class == ClassPreservative || !afterSymbol && (s.ctx.heads || !h.hyphen && (ph.width > 1 || s.maybeCode(h))):
		return s.addPhrase(tokens, i, ph, afterSymbol)
	}
	end := i + max(h.width, ph.width)
	asHead := option{
		items:   append([]item{{kind: itemCountry, text: h.country.text}, {kind: itemProducer, text: h.producer}}, s.rest(tokens[i+h.width:end])...),
		assumed: h.country.text + " is the country and " + h.producer + " the producer",
	}
	sl := slot{
		key: "both " + ph.text + "-" + h.producer, options: s.asCode(ph, h, s.rest(tokens[i+ph.width:end])),
		advice: "look whether " + ph.text + " stands where the country stands, left above, or by itself",
	}
	if afterSymbol {
		sl.options = append([]option{asHead}, sl.options...)
	} else {
		sl.options = append(sl.options, asHead)
		s.note(ph)
	}
	s.add(sl)
	return end - i
}

// maybeCode reports whether the producer of a head may be a code itself, badly
// worn or mistyped, as in "HT M8".
func (s *scanner) maybeCode(h *head) bool { return len(s.t.candidates(h.producer, true)) > 0 }

// asCode gives the ways to read a head as the code it starts with: what follows
// may be a number, or another code worn or mistyped; and a word that is no code
// may be any code it looks like.
func (s *scanner) asCode(ph *phrase, h *head, rest []item) []option {
	assumed := ph.text + " is the code " + ph.row.Code.Text + ", not a country"
	if ph.row.Code.Class == ClassUnknown {
		assumed = ph.text + " is no country"
	}
	out := []option{{items: append([]item{ph.item()}, rest...), assumed: assumed}}
	if ph.row.Code.Class == ClassUnknown {
		for _, o := range s.mistaken(ph.text, ph.item()).options[1:] {
			o.items = append(o.items, rest...)
			out = append(out, o)
		}
	}
	for _, c := range s.t.candidates(h.producer, true) {
		o := c.option(h.producer)
		o.items = append(o.items, ph.item())
		o.assumed += "; " + assumed
		out = append(out, o)
	}
	return out
}

// rest makes items of tokens that a code leaves over.
func (s *scanner) rest(tokens []token) []item {
	var out []item
	for i := range tokens {
		if ph := s.t.phrase(tokens[i:i+1], 0); ph != nil {
			out = append(out, ph.item())
			continue
		}
		out = append(out, looseItem(tokens[i]))
	}
	return out
}

// looseItem makes the item of a token that is no code: its place in the reading
// is settled when all else is known.
func looseItem(tok token) item {
	kind := itemNumber
	if isLetters(tok.text) {
		kind = itemWord
	}
	return item{kind: kind, text: tok.text, assumed: tok.foreign}
}

// addHead adds a country and its producer. Where the producer's place holds a
// known code after a hyphen, both are named.
func (s *scanner) addHead(h *head) int {
	if h.code == nil {
		s.add(s.countrySlot(h.country, h.status))
		s.add(s.producerSlot(h))
		return h.width
	}
	country := item{kind: itemCountry, text: h.country.text, assumed: h.foreign}
	withCode := []item{country, h.code.item()}
	if tail := strings.Trim(h.tail, "-"); tail != "" {
		withCode = append(withCode, item{kind: itemNumber, text: tail})
	}
	s.add(slot{
		key:    "both " + h.country.text + "-" + h.producer,
		advice: "look whether " + h.code.text + " is part of the producer code or a code of its own",
		options: []option{
			{items: []item{country, {kind: itemProducer, text: h.producer, assumed: h.foreign}}, assumed: h.code.text + " belongs to the producer code " + h.producer},
			{items: withCode, assumed: h.code.text + " is the code " + h.code.row.Code.Text + ", not part of the producer code"},
		},
	})
	return h.width
}

// note records what a phrase tells about the context.
func (s *scanner) note(ph *phrase) {
	switch ph.row.Code.Class {
	case ClassSymbol:
		s.found.symbol = true
	case ClassUseCategory, ClassTreated:
		s.found.tag = true
	}
	for _, set := range ph.row.sets {
		s.found.treatment = s.found.treatment || set.field == "treatments"
	}
}

// addPhrase adds a known code and the tokens that belong to it.
func (s *scanner) addPhrase(tokens []token, i int, ph *phrase, afterSymbol bool) int {
	switch ph.row.Code.Class {
	case ClassNegation:
		return s.negation(tokens, i, ph, afterSymbol)
	case ClassPlain:
		if !s.loneCountry(tokens, i, afterSymbol) {
			s.plain++
		}
		return ph.width
	}
	s.note(ph)
	if ph.row.Code.Class == ClassUnknown {
		s.add(s.mistaken(ph.text, ph.item()))
		return ph.width
	}
	items := []item{ph.item()}
	width := ph.width
	for k := i + width; k < len(tokens) && ph.row.Takes != "" && s.isPlainText(tokens, k); k++ {
		kind := itemOwner
		if ph.row.Takes == "next" {
			kind = itemLot
		}
		items = append(items, item{kind: kind, text: tokens[k].text})
		width++
		if ph.row.Takes == "next" {
			break
		}
	}
	s.add(sure(items...))
	return width
}

// isPlainText reports whether the token is no code, nor one badly worn or mistyped.
func (s *scanner) isPlainText(tokens []token, k int) bool {
	return s.t.phrase(tokens, k) == nil && len(s.t.candidates(tokens[k].text, s.inMark())) == 0
}

// negation reads a denial. Before a known code it casts doubt on that code:
// the reading leaves the code out and names both ways.
func (s *scanner) negation(tokens []token, i int, ph *phrase, afterSymbol bool) int {
	next := i + ph.width
	code := (*phrase)(nil)
	if next < len(tokens) {
		code = s.t.phrase(tokens, next)
	}
	if code == nil || len(code.row.sets) == 0 {
		if !s.loneCountry(tokens, i, afterSymbol) {
			s.doubts.denied = true
		}
		return ph.width
	}
	s.note(code)
	typed := ph.text + " " + code.text
	options := []option{
		{items: []item{{kind: itemExtra, text: typed}}, assumed: ph.text + " denies " + code.row.Code.Text},
		{items: []item{code.item()}, assumed: ph.text + " is no denial of " + code.row.Code.Text},
	}
	if c, ok := CountryByCode(ph.text); ok {
		options = append(options, option{
			items:   []item{{kind: itemCountry, text: c.Code, assumed: true}, code.item()},
			assumed: ph.text + " is the country code of " + c.Name,
		})
	}
	s.add(slot{key: "word " + typed, options: options, advice: "type only what stands on the wood: " + typed + " can be read in two ways"})
	return ph.width + code.width
}
