package mark

import (
	"regexp"
	"slices"
	"strings"
)

// Signs with a meaning of their own besides A-Z and 0-9.
const (
	wornSign   = '?' // a letter or digit that cannot be read
	unreadSign = '!' // a character the fold table does not know
	turnSign   = '~' // a mark that turns the direction of text
)

// folded is a text in the signs of the grammar.
type folded struct {
	text   string
	turned bool // a direction mark was met
	unread int  // characters that the fold table does not know
	beyond int  // characters beyond MaxRunes
}

// fold turns typed text into signs: capitals, digits, space, newline, and the
// marks ? - / . and !, with small letters for look-alikes of other alphabets.
// It is a table look-up for each character, so that it is the same everywhere.
func (t *tableSet) foldText(text string) folded {
	var f folded
	var b strings.Builder
	count := 0
	for _, r := range text {
		if count++; count > MaxRunes {
			f.beyond++
			continue
		}
		sign, known := t.sign(r)
		switch {
		case !known:
			f.unread++
			b.WriteByte(unreadSign)
		case sign == string(turnSign):
			f.turned = true
		default:
			b.WriteString(sign)
		}
	}
	f.text = b.String()
	return f
}

// sign is the sign of one character; known is false for characters without one.
func (t *tableSet) sign(r rune) (sign string, known bool) {
	if 'A' <= r && r <= 'Z' || '0' <= r && r <= '9' || strings.ContainsRune("?-/. \n", r) {
		return string(r), true
	}
	i, found := slices.BinarySearchFunc(t.fold, r, func(rule FoldRule, r rune) int {
		switch {
		case rule.Last < r:
			return -1
		case rule.First > r:
			return 1
		}
		return 0
	})
	if !found {
		return "", false
	}
	if rule := t.fold[i]; rule.Shift != 0 {
		return string(r + rune(rule.Shift)), true
	}
	return t.fold[i].To, true
}

// token is a run of letters, digits and worn signs.
type token struct {
	text    string
	join    byte // what stands before it: 0 at the start of a part, else ' ', '.' or '-'
	foreign bool // holds look-alikes of another alphabet
	spelled bool // letters with dots between them so far
}

// part is the tokens between two slashes or line breaks, or one date.
type part struct {
	tokens []token
	date   string
}

// datePattern is day, month, year with slashes or dots, or the ISO form. A
// later digit or letter means that it is no date.
const datePattern = `^(?:[0-9]{1,2}/[0-9]{1,2}/(?:[0-9]{4}|[0-9]{2})|[0-9]{1,2}\.[0-9]{1,2}\.(?:[0-9]{4}|[0-9]{2})|[0-9]{4}-[0-9]{2}-[0-9]{2})`

var dateRE = regexp.MustCompile(datePattern)

// parts cuts the signs at line breaks and slashes, and puts the pieces into one
// order, whatever the order they were typed in; a piece met twice counts once.
func parts(signs string) []part {
	var pieces []string
	var dates []string
	for line := range strings.SplitSeq(signs, "\n") {
		rest := tighten(line)
		start := 0
		for i := 0; i < len(rest); i++ {
			if n := dateAt(rest, i); n > 0 {
				dates = append(dates, rest[i:i+n])
				pieces = append(pieces, strings.Split(rest[start:i], "/")...)
				start = i + n
				i = start - 1
			}
		}
		pieces = append(pieces, strings.Split(rest[start:], "/")...)
	}
	for i := range pieces {
		pieces[i] = strings.Trim(pieces[i], " -.")
	}
	var out []part
	for _, d := range unique(dates) {
		out = append(out, part{date: d})
	}
	for _, p := range unique(pieces) {
		if tokens := tokenise(p); len(tokens) > 0 {
			out = append(out, part{tokens: tokens})
		}
	}
	return out
}

// unique returns the list in order, each text once, and leaves the list alone.
func unique(list []string) []string {
	if len(list) <= 1 {
		return list[:len(list):len(list)]
	}
	out := slices.Clone(list)
	slices.Sort(out)
	return slices.Compact(out)
}

// tighten makes spacing meaningless where people space freely: it leaves one space for many and none beside hyphens and slashes.
func tighten(line string) string {
	line = strings.Join(strings.Fields(line), " ")
	for _, mark := range []string{"-", "/"} {
		line = strings.ReplaceAll(strings.ReplaceAll(line, " "+mark, mark), mark+" ", mark)
	}
	return line
}

// dateAt is the length of the date that starts at i, or 0. Dates are cut out
// before slashes split the line: 12/05/2011 would else be three parts, and its
// pieces could pass for producer codes.
func dateAt(s string, i int) int {
	if s[i] < '0' || s[i] > '9' || i > 0 && (isSign(s[i-1]) || s[i-1] == '-' || s[i-1] == '.') {
		return 0
	}
	n := len(dateRE.FindString(s[i:]))
	if n > 0 && i+n < len(s) && (isSign(s[i+n]) || s[i+n] == '-') {
		return 0
	}
	return n
}

// isSign reports whether c belongs inside a token.
func isSign(c byte) bool {
	return 'A' <= c && c <= 'Z' || 'a' <= c && c <= 'z' || isDigit(c) || c == wornSign || c == unreadSign
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// tokenise cuts a piece into tokens. A dot between two digits stays inside.
func tokenise(piece string) []token {
	var out []token
	join := byte(0)
	for i := 0; i < len(piece); {
		if !isSign(piece[i]) {
			if join == '.' || join == 0 || piece[i] == '-' {
				join = piece[i]
			}
			i++
			continue
		}
		start := i
		for i < len(piece) && (isSign(piece[i]) || piece[i] == '.' && between(piece, i)) {
			i++
		}
		out = spell(out, newTokens(piece[start:i], join))
		join = 0
	}
	if len(out) > 0 {
		out[0].join = 0
	}
	return out
}

// spell adds tokens, putting letters with dots between them together: U.S., H.T.
func spell(out, more []token) []token {
	for _, t := range more {
		if n := len(out) - 1; n >= 0 && t.join == '.' && len(t.text) == 1 && isLetters(t.text) && out[n].spelled {
			out[n].text += t.text
			out[n].foreign = out[n].foreign || t.foreign
			continue
		}
		t.spelled = len(t.text) == 1 && isLetters(t.text)
		out = append(out, t)
	}
	return out
}

// between reports whether the dot at i stands between two digits, as in 0.15, the
// retention on a preservative tag.
func between(s string, i int) bool {
	return i > 0 && i+1 < len(s) && isDigit(s[i-1]) && isDigit(s[i+1])
}

// newTokens makes the token of a run of signs: characters nobody knows count as
// worn inside a word and as nothing by themselves. Letters of the symbol glued
// to what follows are cut off.
func newTokens(raw string, join byte) []token {
	if strings.Trim(raw, string(unreadSign)) == "" {
		return nil
	}
	upper := strings.ToUpper(raw)
	t := token{text: strings.ReplaceAll(upper, string(unreadSign), string(wornSign)), join: join, foreign: upper != raw}
	for _, symbol := range []string{"IPPC", "IPCC"} {
		if rest, ok := strings.CutPrefix(t.text, symbol); ok && rest != "" {
			return []token{{text: symbol, join: join, foreign: t.foreign}, {text: rest, join: ' ', foreign: t.foreign}}
		}
	}
	return []token{t}
}
