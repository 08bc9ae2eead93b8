package charts

import (
	"math"
	"strconv"
	"strings"
)

// number prints an amount for reading: three significant digits, thousands
// apart, a true minus sign.
func number(v float64) string {
	if v == 0 {
		return "0"
	}
	decimals := 2 - int(math.Floor(math.Log10(math.Abs(v))))
	if decimals < 0 {
		decimals = 0
	}
	return plain(v, min(decimals, 6))
}

// plain prints an amount with a fixed number of decimals, trailing zeros cut.
func plain(v float64, decimals int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	whole, fraction, found := strings.Cut(s, ".")
	if fraction = strings.TrimRight(fraction, "0"); found && fraction != "" {
		fraction = "." + fraction
	}
	var b strings.Builder
	for i, r := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 {
			b.WriteByte(',')
		}
		b.WriteRune(r)
	}
	s = b.String() + fraction
	if v < 0 && strings.Trim(s, "0.,") != "" {
		s = "−" + s
	}
	return s
}

// percent prints a share of 1 in whole percent; what is neither none nor all
// never reads as such.
func percent(share float64) string {
	switch {
	case share > 0 && share < 0.005:
		return "under 1 %"
	case share < 1 && share >= 0.995:
		return "over 99 %"
	default:
		return strconv.Itoa(int(math.Round(100*share))) + " %"
	}
}

// count prints a number of things in words that agree.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return plain(float64(n), 0) + " " + many
}
