package wood

import (
	"math/big"
	"strings"
	"unicode"
)

type lengthTokenKind int

const (
	tokenEnd lengthTokenKind = iota
	tokenNumber
	tokenFraction
	tokenUnit
	tokenDash
)

// lengthToken is a number, a fraction, a unit or a hyphen; spaced says that
// white space stands before it.
type lengthToken struct {
	kind    lengthTokenKind
	value   *big.Rat
	unit    Length
	decimal bool
	spaced  bool
}

// vulgar are the precomposed fractions of Unicode (blocks Latin-1 Supplement
// and Number Forms).
var vulgar = map[rune][2]int64{
	'½': {1, 2}, '⅓': {1, 3}, '⅔': {2, 3}, '¼': {1, 4}, '¾': {3, 4},
	'⅕': {1, 5}, '⅖': {2, 5}, '⅗': {3, 5}, '⅘': {4, 5}, '⅙': {1, 6}, '⅚': {5, 6},
	'⅐': {1, 7}, '⅛': {1, 8}, '⅜': {3, 8}, '⅝': {5, 8}, '⅞': {7, 8},
	'⅑': {1, 9}, '⅒': {1, 10},
}

// unitWords are the units in full and abbreviated, lower case.
var unitWords = map[string]Length{
	"in": Inch, "inch": Inch, "inches": Inch,
	"ft": Foot, "foot": Foot, "feet": Foot,
	"mm": Millimetre, "millimetre": Millimetre, "millimetres": Millimetre,
	"millimeter": Millimetre, "millimeters": Millimetre,
	"cm": Centimetre, "centimetre": Centimetre, "centimetres": Centimetre,
	"centimeter": Centimetre, "centimeters": Centimetre,
	"m": Metre, "metre": Metre, "metres": Metre, "meter": Metre, "meters": Metre,
}

// plainMark maps the typographic variants of marks to the plain one: what
// phones, word processors and drawing programs put in their place.
func plainMark(r rune) rune {
	switch r {
	case '′', '’', '‘', 'ʹ', 'ʼ', '´', '`':
		return '\''
	case '″', '”', '“', '„', 'ʺ', '〃':
		return '"'
	case '⁄', '∕', '／':
		return '/'
	case '‐', '‑', '‒', '–', '—', '−':
		return '-'
	}
	return r
}

// digitOf returns the digit of r and its height: 0 on the line, 1 raised, -1
// lowered.
func digitOf(r rune) (digit, height int, ok bool) {
	switch {
	case r >= '0' && r <= '9':
		return int(r - '0'), 0, true
	case r == '¹':
		return 1, 1, true
	case r == '²' || r == '³':
		return int(r-'²') + 2, 1, true
	case r == '⁰' || r >= '⁴' && r <= '⁹':
		return int(r - '⁰'), 1, true
	case r >= '₀' && r <= '₉':
		return int(r - '₀'), -1, true
	}
	return 0, 0, false
}

// lengthScanner walks over the runes of one text.
type lengthScanner struct {
	runes []rune
	pos   int
}

func (sc *lengthScanner) peek() rune {
	if sc.pos < len(sc.runes) {
		return plainMark(sc.runes[sc.pos])
	}
	return -1
}

// skipSpace reports whether there was white space.
func (sc *lengthScanner) skipSpace() bool {
	start := sc.pos
	for sc.pos < len(sc.runes) && unicode.IsSpace(sc.runes[sc.pos]) {
		sc.pos++
	}
	return sc.pos > start
}

// scan turns s into tokens, or sets the fault.
func (p *lengthParser) scan(s string) bool {
	sc := &lengthScanner{runes: []rune(s)}
	for {
		spaced := sc.skipSpace()
		if sc.pos == len(sc.runes) {
			return true
		}
		t, ok := p.token(sc)
		if !ok {
			return false
		}
		t.spaced = spaced
		p.tokens = append(p.tokens, t)
	}
}

// token reads the token that starts at the scanner's position.
func (p *lengthParser) token(sc *lengthScanner) (lengthToken, bool) {
	r := sc.peek()
	if f, ok := vulgar[r]; ok {
		sc.pos++
		return lengthToken{kind: tokenFraction, value: big.NewRat(f[0], f[1])}, true
	}
	if _, _, digit := digitOf(r); digit || r == '.' || r == ',' {
		return p.number(sc)
	}
	switch {
	case r == '-':
		sc.pos++
		return lengthToken{kind: tokenDash}, true
	case r == '\'' || r == '"':
		return markUnit(sc), true
	case unicode.IsLetter(r):
		return p.unitWord(sc)
	case r == '/':
		return lengthToken{}, p.refuse(FaultNotALength, "a fraction needs a number before the slash")
	}
	return lengthToken{}, p.refuse(FaultNotALength, "there is a sign that is no part of a length")
}

// markUnit reads ', " or two of the former, which stand for inches too.
func markUnit(sc *lengthScanner) lengthToken {
	first := sc.peek()
	sc.pos++
	if first == '"' {
		return lengthToken{kind: tokenUnit, unit: Inch}
	}
	if sc.peek() == '\'' {
		sc.pos++
		return lengthToken{kind: tokenUnit, unit: Inch}
	}
	return lengthToken{kind: tokenUnit, unit: Foot}
}

// unitWord reads a unit in letters and the full stop of its abbreviation.
func (p *lengthParser) unitWord(sc *lengthScanner) (lengthToken, bool) {
	start := sc.pos
	for sc.pos < len(sc.runes) && unicode.IsLetter(sc.runes[sc.pos]) {
		sc.pos++
	}
	word := strings.ToLower(string(sc.runes[start:sc.pos]))
	unit, ok := unitWords[word]
	if !ok {
		return lengthToken{}, p.refuse(FaultNotALength, "only in, ft, mm, cm and m are known as units")
	}
	if sc.peek() == '.' {
		sc.pos++
	}
	return lengthToken{kind: tokenUnit, unit: unit}, true
}

// number reads a whole number, a decimal number or a fraction.
func (p *lengthParser) number(sc *lengthScanner) (lengthToken, bool) {
	whole, height := sc.digits()
	switch sc.peek() {
	case '/':
		if whole == "" {
			break
		}
		sc.pos++
		return p.denominator(sc, whole)
	case '.', ',':
		if height == 0 {
			return p.decimals(sc, whole)
		}
	}
	if whole == "" || height != 0 {
		return lengthToken{}, p.refuse(FaultNotALength, "raised or lowered digits are read as parts of a fraction only")
	}
	value := ratio(whole, "1")
	return lengthToken{kind: tokenNumber, value: value}, true
}

// digits reads a run of digits of one height: "5¹" is a 5 and then a raised 1.
func (sc *lengthScanner) digits() (run string, height int) {
	var b strings.Builder
	for sc.pos < len(sc.runes) {
		d, h, ok := digitOf(sc.runes[sc.pos])
		if !ok || b.Len() > 0 && h != height {
			break
		}
		height = h
		b.WriteByte(byte('0' + d))
		sc.pos++
	}
	return b.String(), height
}

// denominator reads what stands after the slash and completes the fraction.
func (p *lengthParser) denominator(sc *lengthScanner, num string) (lengthToken, bool) {
	den, _ := sc.digits()
	if den == "" {
		return lengthToken{}, p.refuse(FaultNotALength, "a fraction needs a number after the slash")
	}
	if strings.Trim(den, "0") == "" {
		return lengthToken{}, p.refuse(FaultZeroDenominator, "a fraction cannot have 0 below the line")
	}
	value := ratio(num, den)
	return lengthToken{kind: tokenFraction, value: value}, true
}

// decimals reads the point or comma and what stands after it.
func (p *lengthParser) decimals(sc *lengthScanner, whole string) (lengthToken, bool) {
	comma := sc.peek() == ','
	sc.pos++
	frac, height := sc.digits()
	switch next := sc.peek(); {
	case frac == "" || height != 0:
		return lengthToken{}, p.refuse(FaultNotALength, "a digit must follow the decimal point")
	case next == '.' || next == ',':
		return lengthToken{}, p.refuse(FaultAmbiguous, "a number may hold one decimal point and no thousands separators")
	case next == '/':
		return lengthToken{}, p.refuse(FaultNotALength, "a decimal number cannot be part of a fraction")
	case comma && looksLikeThousands(whole, frac):
		return lengthToken{}, p.refuse(FaultAmbiguous, "the comma could separate thousands or decimals")
	}
	value := ratio(whole+frac, "1"+strings.Repeat("0", len(frac)))
	return lengthToken{kind: tokenNumber, value: value, decimal: true}, true
}

// looksLikeThousands reports whether "whole,frac" might be one number grouped
// by thousands: 1,250 is, 0,375 and 5,5 are not.
func looksLikeThousands(whole, frac string) bool {
	return len(frac) == 3 && len(whole) >= 1 && len(whole) <= 3 && whole[0] != '0'
}

// ratio divides two runs of decimal digits; den is not zero. big.Rat's own
// parser is not used because it takes a leading zero of a fraction for octal.
func ratio(num, den string) *big.Rat {
	n, _ := new(big.Int).SetString(num, 10)
	d, _ := new(big.Int).SetString(den, 10)
	return new(big.Rat).SetFrac(n, d)
}
