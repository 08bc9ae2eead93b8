package yield_test

import (
	"encoding/json"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// TestSameOnAnyMachine answers for a book that is worked on in parts with one
// processor and with four: the answers are the same to the last digit. It changes what
// the whole program sees, so it does not run beside others.
func TestSameOnAnyMachine(t *testing.T) {
	w, pickups := largeBook(450, 4)
	answer := func(processors int) string {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(processors))
		m, err := yield.Fit(pickups, yield.Options{Today: day0.AddDate(3, 0, 0), Prices: w.prices})
		require.NoError(t, err)
		text, err := json.Marshal(m.Answers())
		require.NoError(t, err)
		return string(text)
	}
	require.Equal(t, answer(1), answer(4))
}
