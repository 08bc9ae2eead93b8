package mark

import "strings"

// head is a country code with the producer code after it, as found at a token.
type head struct {
	country token
	status  CountryStatus // "" for a code with worn or mistyped letters
	// producer is the code after the country, width the tokens of both.
	producer string
	width    int
	hyphen   bool // a hyphen joins the two
	foreign  bool
	// code is the known code that the producer place holds, if any, such as MB in
	// CA-MB 0001; tail is the number after it.
	code *phrase
	tail string
}

// isExact reports whether the country is one of ISO 3166, in force or retired.
func (h *head) isExact() bool { return h.status == Official || h.status == Retired }

// head finds a country and its producer at token i, or returns nil. Codes with
// worn or mistyped letters and codes of no country need the symbol before them
// or a hyphen after them, and no better head elsewhere in the text.
func (s *scanner) head(tokens []token, i int, afterSymbol bool) *head {
	tok := tokens[i]
	if len(tok.text) != 2 || strings.Trim(tok.text, "0123456789") == "" {
		return nil
	}
	h := &head{country: tok, foreign: tok.foreign}
	if isLetters(tok.text) {
		c, _ := CountryByCode(tok.text)
		h.status = c.Status
	}
	if !s.chain(h, tokens, i+1) {
		return nil
	}
	if h.status == "" || h.status == Unassigned {
		if !afterSymbol && (!h.hyphen || s.ctx.heads) {
			return nil
		}
	}
	return h
}

// chain reads the producer code that starts at token j into h. A producer code
// holds a digit: letters by themselves count only with a number after them
// (BC 0001). It ends before a known code, also one worn or mistyped: GB-FC01-H?.
func (s *scanner) chain(h *head, tokens []token, j int) bool {
	if j >= len(tokens) {
		return false
	}
	const shortLetters = 3 // letters before a number, such as a province
	first := tokens[j]
	h.hyphen = first.join == '-'
	if h.code = s.t.phrase(tokens, j); h.code != nil && h.code.row.Code.Class == ClassPlain {
		h.code = nil // BY 12345 of Bavaria is no English word
	}
	h.producer, h.width, h.foreign = first.text, 2, h.foreign || first.foreign
	switch {
	case hasNumber(first.text):
		if h.code != nil && (h.code.width > 1 || !h.hyphen) {
			return false
		}
	case isLetters(first.text) && len(first.text) <= shortLetters && j+1 < len(tokens) && hasNumber(tokens[j+1].text):
		next := tokens[j+1]
		if h.code != nil && (h.code.width > 1 || !h.hyphen) || !s.isPlainText(tokens, j+1) || strings.Contains(next.text, ".") {
			return false
		}
		if next.join == '-' {
			h.producer += "-"
		}
		h.producer += next.text
		h.tail = next.text
		h.width, h.foreign = 3, h.foreign || next.foreign
	default:
		return false
	}
	s.links(h, tokens, j+h.width-1)
	return true
}

// links adds the further pieces of a producer code, each after a hyphen.
func (s *scanner) links(h *head, tokens []token, k int) {
	for ; k < len(tokens) && tokens[k].join == '-'; k++ {
		text := tokens[k].text
		if !s.isPlainText(tokens, k) || !hasNumber(text) && len(text) > 1 {
			return
		}
		h.producer += "-" + text
		h.tail += "-" + text
		h.width, h.foreign = h.width+1, h.foreign || tokens[k].foreign
	}
}

// hasNumber reports whether text holds a digit or a sign that may be one.
func hasNumber(text string) bool { return strings.ContainsAny(text, "0123456789?") }

// isLetters reports whether text is capitals only.
func isLetters(text string) bool {
	for i := range len(text) {
		if text[i] < 'A' || text[i] > 'Z' {
			return false
		}
	}
	return text != ""
}

// countrySlot makes the slot of a country code.
func (s *scanner) countrySlot(tok token, status CountryStatus) slot {
	typed := item{kind: itemCountry, text: tok.text, assumed: tok.foreign}
	if status != "" {
		return sure(typed)
	}
	all := s.t.countryCandidates(tok.text)
	if len(all) == 0 {
		return sure(typed)
	}
	kept := all[:min(len(all), MaxReadings-1)]
	out := slot{
		key: "country " + tok.text, more: len(all) - len(kept),
		options: []option{{blank: true}},
	}
	var fits []candidate
	for _, c := range kept {
		out.options = append(out.options, option{
			items:   []item{{kind: itemCountry, text: c.Code, assumed: true}},
			assumed: tok.text + " stands for the country code " + c.Code + " (" + c.Name + ")",
		})
		at, _ := s.t.fits(tok.text, c.Code, false)
		fits = append(fits, candidate{form: c.Code, at: max(at, 0)})
	}
	out.advice = lookAgain(tok.text, "the country code", fits)
	if out.more > 0 {
		out.advice = "look again at the country code: both letters are worn"
	}
	return out
}

// producerSlot makes the slot of a producer code.
func (s *scanner) producerSlot(h *head) slot {
	typed := option{items: []item{{kind: itemProducer, text: h.producer, assumed: h.foreign}}}
	out := slot{key: "producer " + h.producer, options: []option{typed}}
	if strings.ContainsRune(h.producer, wornSign) {
		typed.items = []item{{kind: itemProducer, text: h.producer, assumed: true}}
		typed.assumed = "the producer code is " + h.producer + ", where ? is worn"
		out.options = []option{{blank: true}, typed}
		out.advice = "look again at the worn signs of the producer code " + h.producer
	}
	if codes := s.insteadOfProducer(h); len(codes) > 0 {
		for _, c := range codes {
			out.options = append(out.options, c.option(h.producer))
		}
		out.advice = lookAgain(h.producer, "", codes)
		return out
	}
	if cut, code, ok := s.gluedTreatment(h.producer); ok {
		out.advice = "look whether the last two letters of " + h.producer + " are the treatment"
		out.options = append(out.options, option{
			items:   []item{{kind: itemProducer, text: cut, assumed: true}, {kind: itemCode, text: code.Code.Text, row: code, assumed: true}},
			assumed: "the last two letters of " + h.producer + " are the treatment " + code.Code.Text,
		})
		return out
	}
	if twin, at, ok := s.t.producerTwin(h.producer); ok && len(out.options) == 1 {
		out.advice = lookAgain(h.producer, "the producer code", []candidate{{form: twin, at: at}})
		out.options = append(out.options, option{
			items:   []item{{kind: itemProducer, text: twin, assumed: true}},
			assumed: "the letter " + h.producer[at:at+1] + " in " + h.producer + " is the digit " + twin[at:at+1],
		})
		return out
	}
	if len(out.options) == 1 {
		return sure(typed.items...)
	}
	return out
}

// insteadOfProducer lists the codes that a producer may be instead, badly worn
// or mistyped (US M8), unless a hyphen and a treatment elsewhere say otherwise.
func (s *scanner) insteadOfProducer(h *head) []candidate {
	if h.hyphen && s.ctx.treatment && !strings.ContainsRune(h.producer, wornSign) {
		return nil
	}
	if h.producer == "??" && !s.ctx.treatment {
		return s.t.anyTreatment()
	}
	return s.t.candidates(h.producer, true)
}

// gluedTreatment splits a treatment code off the end of a producer code after
// its last digit, when no treatment stands anywhere else.
func (s *scanner) gluedTreatment(producer string) (rest string, code *row, ok bool) {
	n := len(producer) - 2
	if s.ctx.treatment || n < 1 || !isDigit(producer[n-1]) {
		return "", nil, false
	}
	code = s.t.exact[producer[n:]]
	if code == nil || code.Code.Class != ClassTreatment {
		return "", nil, false
	}
	return producer[:n], code, true
}
