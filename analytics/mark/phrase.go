package mark

// maxWords is how many tokens one code may be spread over.
const maxWords = 4

// phrase is a known code found at a token.
type phrase struct {
	row     *row
	text    string // the writing without separators
	width   int    // tokens
	spaced  bool   // put together from single letters with spaces between
	foreign bool
}

// phrase finds the longest code that starts at token i, written together or
// apart. The longest wins so that KD-HT is one lumber class and not two codes,
// and S-P-F is no S.
func (t *tableSet) phrase(tokens []token, i int) *phrase {
	text, lengths := "", []int{}
	for n := 0; n < maxWords && i+n < len(tokens); n++ {
		text += tokens[i+n].text
		if len(text) > t.widest {
			break
		}
		lengths = append(lengths, len(text))
	}
	for n := len(lengths); n > 0; n-- {
		joined := text[:lengths[n-1]]
		r := t.exact[joined]
		if r == nil {
			r = t.wildRow(joined)
		}
		if r == nil {
			continue
		}
		p := &phrase{row: r, text: joined, width: n, spaced: n > 1}
		for k, tok := range tokens[i : i+n] {
			p.foreign = p.foreign || tok.foreign
			if len(tok.text) > 1 || k > 0 && tok.join != ' ' {
				p.spaced = false
			}
		}
		return p
	}
	return nil
}

// wildRow finds the code of a writing that has wildcards, such as UN####.
func (t *tableSet) wildRow(text string) *row {
	for _, w := range t.wild {
		if matchesWild(w.pattern, text) {
			return w.row
		}
	}
	return nil
}

// matchesWild compares text with a writing in which # is one digit and @ one letter.
func matchesWild(pattern, text string) bool {
	if len(pattern) != len(text) {
		return false
	}
	for i := range len(text) {
		switch c := text[i]; pattern[i] {
		case '#':
			if !isDigit(c) {
				return false
			}
		case '@':
			if c < 'A' || c > 'Z' {
				return false
			}
		default:
			if c != pattern[i] {
				return false
			}
		}
	}
	return true
}

// item makes the item of the phrase.
func (p *phrase) item() item {
	return item{kind: itemCode, text: p.text, row: p.row, assumed: p.spaced || p.foreign}
}
