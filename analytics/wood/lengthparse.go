package wood

import (
	"math/big"
)

// maxLengthText bounds the bytes that ParseLength looks at.
const maxLengthText = 64

// ParseLength reads a length as people in a shop write it; a number without a
// unit is in bare.
//
// It reads whole and decimal numbers (point or comma), fractions and mixed
// numbers ("3/4", "5 1/2", "5-1/2", "5½", "5 ⅝", "5¹⁄₂"), the units in, ft, m,
// cm, mm, their names in full and the marks " and ' with their typographic
// variants, and feet followed by inches ("6' 2 1/2\"", "6 ft 2 in", "6'-2").
// Zero is a length: a defect may begin at the end of a board.
//
// The arithmetic is exact; what is no whole number of nanometres, such as
// 1/3 in, is rounded to the nearest, halves up. "5/4" is 1 1/4 units, not a
// nominal thickness.
//
// It refuses, with a *LengthError, anything negative or beyond MaxLength, and
// what two people would read differently: "1,250" (thousands or decimals), a
// fraction without a unit where bare is millimetres, a fraction of one or more
// beside a whole number, 12 or more inches beside feet. An unknown bare unit
// is ErrUnit.
func ParseLength(s string, bare Unit) (Length, error) {
	if _, err := ParseUnit(string(bare)); err != nil {
		return 0, err
	}
	fail := func(f LengthFault, reason string) (Length, error) {
		return 0, &LengthError{Input: shorten(s), Fault: f, Reason: reason}
	}
	if len(s) > maxLengthText {
		return fail(FaultTooLong, "more than 64 bytes long")
	}
	p := lengthParser{bare: bare}
	if p.scan(s); p.fault == "" {
		p.parse()
	}
	if p.fault != "" {
		return fail(p.fault, p.reason)
	}
	nm, ok := roundRat(p.total)
	if !ok {
		return fail(FaultTooLarge, tooLargeReason)
	}
	return nm, nil
}

// roundRat rounds a non-negative count of nanometres, halves up, and reports
// whether it is within MaxLength.
func roundRat(r *big.Rat) (Length, bool) {
	if r.Cmp(new(big.Rat).SetInt64(int64(MaxLength))) > 0 {
		return 0, false
	}
	twice := new(big.Int).Lsh(r.Num(), 1)
	twice.Add(twice, r.Denom())
	q := twice.Quo(twice, new(big.Int).Lsh(r.Denom(), 1))
	return Length(q.Int64()), true
}

// lengthParser reads one length in two passes: scan makes tokens, parse gives
// them meaning. The first fault found is kept.
type lengthParser struct {
	bare   Unit
	tokens []lengthToken
	pos    int
	total  *big.Rat // nanometres
	fault  LengthFault
	reason string
}

// refuse keeps the first fault and reports false, so that callers can return
// its result.
func (p *lengthParser) refuse(f LengthFault, reason string) bool {
	if p.fault == "" {
		p.fault, p.reason = f, reason
	}
	return false
}

// peek returns the token ahead, or the end token.
func (p *lengthParser) peek() lengthToken {
	if p.pos < len(p.tokens) {
		return p.tokens[p.pos]
	}
	return lengthToken{kind: tokenEnd}
}

func (p *lengthParser) next() lengthToken {
	t := p.peek()
	p.pos++
	return t
}

// parse reads one quantity, or feet followed by inches, up to the end.
func (p *lengthParser) parse() bool {
	if len(p.tokens) == 0 {
		return p.refuse(FaultEmpty, "nothing is written")
	}
	if p.peek().kind == tokenDash {
		return p.refuse(FaultNegative, "a length is never negative")
	}
	first, ok := p.quantity()
	if !ok {
		return false
	}
	p.total = first.in(p.unitOf(first))
	if p.peek().kind == tokenEnd {
		return p.checkBare(first)
	}
	if first.unit != Foot {
		return p.refuse(FaultNotALength, "something follows the length")
	}
	return p.inchesAfter(first)
}

// checkBare refuses a fraction whose unit had to be guessed as millimetres: a
// metric keeper who writes 5 1/2 is reading an inch tape.
func (p *lengthParser) checkBare(q quantity) bool {
	if q.unit == 0 && q.fraction && p.bare == UnitMillimetre {
		return p.refuse(FaultAmbiguous, "a fraction without a unit could be inches or millimetres")
	}
	return true
}

// inchesAfter reads the inches that follow whole feet.
func (p *lengthParser) inchesAfter(feet quantity) bool {
	if !feet.value.IsInt() {
		return p.refuse(FaultNotALength, "feet before inches must be a whole number")
	}
	if p.peek().kind == tokenDash {
		p.next()
	}
	inches, ok := p.quantity()
	if !ok {
		return false
	}
	if inches.unit != 0 && inches.unit != Inch {
		return p.refuse(FaultNotALength, "only inches may follow feet")
	}
	if p.peek().kind != tokenEnd {
		return p.refuse(FaultNotALength, "something follows the inches")
	}
	if inches.value.Cmp(big.NewRat(12, 1)) >= 0 {
		return p.refuse(FaultAmbiguous, "inches beside feet must be below 12")
	}
	p.total.Add(p.total, inches.in(Inch))
	return true
}

// unitOf returns the unit of q: its own, else the bare one.
func (p *lengthParser) unitOf(q quantity) Length {
	switch {
	case q.unit != 0:
		return q.unit
	case p.bare == UnitInch:
		return Inch
	default:
		return Millimetre
	}
}

// quantity is a number and the unit written after it, 0 if none was.
type quantity struct {
	value    *big.Rat
	unit     Length
	fraction bool
}

func (q quantity) in(unit Length) *big.Rat {
	return new(big.Rat).Mul(q.value, new(big.Rat).SetInt64(int64(unit)))
}

// quantity reads a number, perhaps a mixed one, and the unit after it.
func (p *lengthParser) quantity() (quantity, bool) {
	var q quantity
	t := p.next()
	switch t.kind {
	case tokenFraction:
		q.value, q.fraction = t.value, true
	case tokenNumber:
		q.value = t.value
		if !p.fractionAfter(t, &q) {
			return q, false
		}
	default:
		return q, p.refuse(FaultNotALength, "a number is missing")
	}
	if p.peek().kind == tokenUnit {
		q.unit = p.next().unit
	}
	return q, true
}

// fractionAfter adds to q the fraction that follows the whole number t, behind
// a space or a tight hyphen, if there is one.
func (p *lengthParser) fractionAfter(t lengthToken, q *quantity) bool {
	ahead := p.peek()
	if ahead.kind == tokenDash && p.pos+1 < len(p.tokens) && p.tokens[p.pos+1].kind == tokenFraction {
		if ahead.spaced || p.tokens[p.pos+1].spaced {
			return p.refuse(FaultAmbiguous, "a spaced hyphen could mean minus")
		}
		p.next()
		ahead = p.peek()
	}
	if ahead.kind != tokenFraction {
		return true
	}
	if t.decimal {
		return p.refuse(FaultNotALength, "a decimal number and a fraction do not go together")
	}
	if ahead.value.Cmp(big.NewRat(1, 1)) >= 0 {
		return p.refuse(FaultAmbiguous, "the fraction beside a whole number must be below one")
	}
	q.value = new(big.Rat).Add(t.value, p.next().value)
	q.fraction = true
	return true
}
