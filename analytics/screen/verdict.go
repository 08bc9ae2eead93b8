package screen

import (
	"fmt"
	"strings"
)

// Verdict is what the evidence on a piece of wood supports. The empty string is
// no verdict and counts as Hold wherever a severity is asked for.
type Verdict string

// The four verdicts, mildest first. None of them says that wood is safe.
const (
	// Inside supports parts bees live on: boxes, frames, inner covers, floors.
	Inside Verdict = "inside"
	// Outside supports only parts bees and honey do not touch: stands, legs,
	// handles, the roof skin above an inner cover.
	Outside Verdict = "outside"
	// Hold means: do not cut for a hive until the named evidence comes in.
	Hold Verdict = "hold"
	// Never means: not in a hive, not sawn or planed in the shop, not burned.
	Never Verdict = "never"
)

// Verdicts returns the four verdicts, mildest first.
func Verdicts() []Verdict { return []Verdict{Inside, Outside, Hold, Never} }

// Severity returns 0 for Inside, 1 for Outside, 2 for Hold and 3 for Never. Any
// other value counts as Hold: what is not understood is not cleared.
func (v Verdict) Severity() int {
	switch v {
	case Inside:
		return 0
	case Outside:
		return 1
	case Never:
		return 3
	default:
		return 2
	}
}

// Known reports whether v is one of the four verdicts.
func (v Verdict) Known() bool { return v == Inside || v == Outside || v == Hold || v == Never }

// Worse returns the more severe of a and b; of two equally severe ones it
// returns a.
func Worse(a, b Verdict) Verdict {
	if b.Severity() > a.Severity() {
		return b
	}
	return a
}

// ParseVerdict reads one of the four words in any case. The error wraps
// ErrUnknownVerdict.
func ParseVerdict(text string) (Verdict, error) {
	v := Verdict(strings.ToLower(strings.TrimSpace(text)))
	if !v.Known() {
		return "", fmt.Errorf("%w: %q: write inside, outside, hold or never", ErrUnknownVerdict, clip(text))
	}
	return v, nil
}
