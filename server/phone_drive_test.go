package server_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/server/browsertest"
)

// TestJourneyPlanADrive decides on a Saturday: where to go with three drives left,
// what if the day were worth something at home, and a round with a small vehicle.
func TestJourneyPlanADrive(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	phone := b.phone(browsertest.Options{})
	phone.Go("/drive")
	require.Contains(t, phone.See("main"), "with 30 drives left")
	phone.Type("drives", "3")
	phone.Type("home", "4000")
	phone.Tap("Rank again")
	require.Contains(t, phone.See("main"), "with 3 drives left")
	require.Contains(t, phone.See("main"), "Stay home. The day is worth 4000.00 USD there.")
	require.Empty(t, phone.Sideways(browsertest.Width))
	phone.Tap("As it is")
	require.NotContains(t, phone.See("main"), "4000")
	phone.Tap("Plan a round")
	before := phone.Texts("#route tbody th")
	require.NotEmpty(t, before)
	for _, adds := range phone.Texts(`#route td[data-name^="Adds"]`) {
		require.Regexp(t, `\(.+ to .+\)`, adds, "never a bare mean")
	}
	phone.Type("hours", "2")
	phone.Type("room", "20")
	phone.Tap("Plan it")
	require.Less(t, len(phone.Texts("#route tbody th")), len(before), "less time, fewer stops")
	require.Empty(t, phone.Sideways(browsertest.Width))
}
