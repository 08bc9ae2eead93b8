package yield_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// TestNextCall takes hours as people write them; now is Wednesday 25 November
// 2026, 9:30.
func TestNextCall(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC)
	for text, want := range map[string]string{
		"weekdays 7 to 15":             "Wed 25 09:30-15:00",
		"Weekdays 7-9":                 "Thu 26 07:00-09:00",
		"after 16":                     "Wed 25 16:00-19:00",
		"after 22":                     "Wed 25 22:00-24:00",
		"before 10":                    "Wed 25 09:30-10:00",
		"before 6":                     "Thu 26 03:00-06:00",
		"Tuesdays":                     "Tue 1 08:00-17:00",
		"Saturdays":                    "Sat 28 08:00-17:00",
		"Mon-Fri 8:30am-3pm":           "Wed 25 09:30-15:00",
		"Fri to Mon 8 to 9":            "Fri 27 08:00-09:00",
		"Tue, Thu 8 to 12":             "Thu 26 08:00-12:00",
		"mornings":                     "Wed 25 09:30-12:00",
		"Saturday afternoons":          "Sat 28 12:00-17:00",
		"weekdays 7 to 8; Sat 9 to 11": "Thu 26 07:00-08:00",
		"daily 12 am to 9 am":          "Thu 26 00:00-09:00",
		"by telephone":                 "Wed 25 09:30-10:30",
	} {
		h, err := yield.ParseHours(text)
		require.NoError(t, err, text)
		call, ok := h.Next(now)
		require.True(t, ok, text)
		to := call.To.Format("15:04")
		if call.To.Day() != call.From.Day() {
			to = "24:00"
		}
		require.Equal(t, want, call.From.Format("Mon 2 15:04")+"-"+to, text)
	}
	for text, says := range map[string]string{
		"":                        "nothing is written",
		" ; ":                     "nothing is written",
		"when the dog is in":      "is not understood",
		"15 to 7":                 "ends before it begins",
		"7 to 9 to 11":            "third time",
		"on the":                  "neither a day nor a time",
		"weekdays 25 to 26":       `"25" is not understood`,
		string(make([]byte, 300)): "longer than",
	} {
		_, err := yield.ParseHours(text)
		require.ErrorIs(t, err, yield.ErrHours, text)
		require.ErrorContains(t, err, says, text)
	}
}

// FuzzParseHours gives back either a fault or a time that lies ahead.
func FuzzParseHours(f *testing.F) {
	for _, seed := range []string{"weekdays 7 to 15", "Tue, Thu 8:30-12", "after 16", "by telephone", "12 am", "to to 9", "Fri to Mon", "24:00 to 24"} {
		f.Add(seed)
	}
	now := time.Date(2026, 3, 28, 23, 59, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, text string) {
		h, err := yield.ParseHours(text)
		if err != nil {
			require.ErrorIs(t, err, yield.ErrHours)
			return
		}
		call, ok := h.Next(now)
		require.True(t, ok, "some day of two weeks")
		require.False(t, call.From.Before(now))
		require.True(t, call.To.After(call.From))
		for _, s := range h.Open {
			require.Less(t, s.From, s.To)
			require.LessOrEqual(t, s.To, 24*60)
		}
	})
}
