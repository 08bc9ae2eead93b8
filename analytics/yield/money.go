package yield

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Money is a whole number of minor units (cents, pence, öre) of one currency.
// The zero value is no money in no currency and may be added to any other.
type Money struct {
	Minor    int64  `json:"minor"`
	Currency string `json:"currency"` // three capital letters of ISO 4217, such as "USD"
}

// minorDigits lists the currencies of ISO 4217 whose minor unit is not a
// hundredth; all others have two digits. Source: ISO 4217 list one, from memory.
var minorDigits = map[string]int{
	"BHD": 3, "BIF": 0, "CLP": 0, "DJF": 0, "GNF": 0, "IQD": 3, "ISK": 0, "JOD": 3, "JPY": 0, "KMF": 0, "KRW": 0,
	"KWD": 3, "LYD": 3, "OMR": 3, "PYG": 0, "RWF": 0, "TND": 3, "UGX": 0, "UYI": 0, "VND": 0, "VUV": 0, "XAF": 0,
	"XOF": 0, "XPF": 0,
}

// MinorDigits returns how many decimal digits the minor unit of currency has:
// 2 for most, 0 for yen, 3 for dinars; 2 for what is not known.
func MinorDigits(currency string) int {
	if d, ok := minorDigits[currency]; ok {
		return d
	}
	return 2
}

// MinorPerMajor returns how many minor units make one unit of currency.
func MinorPerMajor(currency string) float64 { return math.Pow10(MinorDigits(currency)) }

// ValidCurrency reports whether currency has the shape of an ISO 4217 code:
// three capital letters. Whether the code is in use is not checked.
func ValidCurrency(currency string) bool {
	if len(currency) != 3 {
		return false
	}
	for i := range 3 {
		if currency[i] < 'A' || currency[i] > 'Z' {
			return false
		}
	}
	return true
}

// Add returns m + o. The error wraps ErrCurrency where both carry a currency
// and the two differ, and ErrOption where the sum does not fit.
func (m Money) Add(o Money) (Money, error) {
	currency, err := oneCurrency(m, o)
	if err != nil {
		return Money{}, err
	}
	sum := m.Minor + o.Minor
	if (m.Minor > 0 && o.Minor > 0 && sum < 0) || (m.Minor < 0 && o.Minor < 0 && sum >= 0) {
		return Money{}, fmt.Errorf("%w: the sum of %s and %s is too large", ErrOption, m, o)
	}
	return Money{Minor: sum, Currency: currency}, nil
}

// oneCurrency returns the currency that m and o share; nothing at all (the
// zero value) goes with either.
func oneCurrency(m, o Money) (string, error) {
	switch {
	case m.Currency == o.Currency, o == Money{}:
		return m.Currency, nil
	case m == Money{}:
		return o.Currency, nil
	default:
		return "", fmt.Errorf("%w: %s and %s: enter the rate at which one became the other", ErrCurrency, m, o)
	}
}

// String returns the amount in major units and the currency, such as
// "-12.50 USD".
func (m Money) String() string {
	text := FormatMinor(float64(m.Minor), m.Currency)
	if m.Currency == "" {
		return text
	}
	return text + " " + m.Currency
}

// FormatMinor prints minor units as major units with the digits of currency
// and without its name: 1250 USD becomes "12.50". Parts of a minor unit are rounded,
// halves away from zero, so that a figure reads alike wherever it stands. It never prints
// "-0.00".
func FormatMinor(minor float64, currency string) string {
	digits := MinorDigits(currency)
	text := strconv.FormatFloat(math.Round(minor)/math.Pow10(digits), 'f', digits, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}
