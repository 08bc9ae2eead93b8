package yield_test

import (
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

func readSheet(t *testing.T, text string, opts yield.SheetOptions) *yield.TripSheet {
	t.Helper()
	s, err := yield.ReadTrips(strings.NewReader(text), opts)
	require.NoError(t, err)
	return s
}

func TestReadTrips(t *testing.T) {
	t.Parallel()
	s := readSheet(t, "\ufeffDate,SOURCE,Weather,volume,Usable,miles,Minutes,cash,held,Kind,outside,lots,shop minutes,estimated\r\n"+
		"2025-03-01,Tile works,fine,0.5,0.3,12,90,2.50,0.1,tiles,0.1,3,45,yes\r\n"+
		"\"3 Mar 2025\",Tile works,,0,,12,25,,,tiles\r\n"+
		"\r\n"+
		"4.3.2025,'=Odd,rain,0.2,,,,,,\r\n", yield.SheetOptions{})
	require.Empty(t, s.Faults)
	require.Equal(t, []string{"Weather"}, s.Unknown)
	require.Equal(t, []int{2, 3, 5}, s.Rows)
	usable, outside := 0.3, 0.1
	require.Equal(t, yield.Pickup{
		SourceID: "Tile works", Kind: "tiles", Date: day("2025-03-01"), Miles: 12, Minutes: 90, ShopMinutes: 45, Lots: 3,
		Cash: yield.Money{Minor: 250, Currency: "USD"}, Volume: 0.5, Inside: usable - outside, Outside: outside, Held: 0.1, Estimated: true,
	}, s.Pickups[0])
	require.True(t, s.Pickups[1].Empty)
	require.Equal(t, day("2025-03-03"), s.Pickups[1].Date)
	require.Equal(t, "=Odd", s.Pickups[2].SourceID)
	require.InDelta(t, 0.2, s.Pickups[2].Held, 1e-12, "nobody said what can be used: undecided")
}

func TestReadTripsInOtherUnits(t *testing.T) {
	t.Parallel()
	s := readSheet(t, "source;date;volume;usable;miles;cash\na;3/4/2025;100,5;50;16,09344;1200\n",
		yield.SheetOptions{Volume: "bf", Distance: "km", Currency: "JPY", DayFirst: true})
	require.Empty(t, s.Faults)
	p := s.Pickups[0]
	require.InDelta(t, 100.5*yield.CubicMetresPerBoardFoot, p.Volume, 1e-12)
	require.InDelta(t, 10, p.Miles, 1e-12)
	require.Equal(t, yield.Money{Minor: 1200, Currency: "JPY"}, p.Cash)
	require.Equal(t, day("2025-04-03"), p.Date)
	month := readSheet(t, "source\tdate\tvolume\tusable\na\t3/4/2025\t1\t1\n", yield.SheetOptions{Volume: "ft3", MonthFirst: true})
	require.Empty(t, month.Faults)
	require.Equal(t, day("2025-03-04"), month.Pickups[0].Date)
	require.InDelta(t, 0.3048*0.3048*0.3048, month.Pickups[0].Volume, 1e-15)
	for _, bad := range []yield.SheetOptions{{Volume: "cord"}, {Distance: "league"}, {Currency: "dollar"}, {DayFirst: true, MonthFirst: true}} {
		_, err := yield.ReadTrips(strings.NewReader(""), bad)
		require.ErrorIs(t, err, yield.ErrOption)
	}
}

// TestReadTripsFaults gives each column a wrong value.
func TestReadTripsFaults(t *testing.T) {
	t.Parallel()
	const header = "source,kind,date,miles,minutes,cash,volume,usable,held,outside,never,lost,lots,shop_minutes,estimated\n"
	for name, c := range map[string]struct{ row, column, what string }{
		"no source":        {",k,2025-01-01,1,1,1,1,1,,,,,,,", "source", "no source"},
		"control":          {"a\x01,k,2025-01-01,1,1,1,1,1,,,,,,,", "source", "a control character"},
		"long kind":        {"a," + strings.Repeat("k", 300) + ",2025-01-01,1,1,1,1,1,,,,,,,", "kind", "longer than 200 bytes"},
		"no date":          {"a,k,,1,1,1,1,1,,,,,,,", "date", "no date"},
		"no day":           {"a,k,2025-02-30,1,1,1,1,1,,,,,,,", "date", "not a day"},
		"which is which":   {"a,k,3/4/2025,1,1,1,1,1,,,,,,,", "date", "day and month cannot be told apart"},
		"year":             {"a,k,0025-04-03,1,1,1,1,1,,,,,,,", "date", "not a year of this century or the last"},
		"negative miles":   {"a,k,2025-01-01,-1,1,1,1,1,,,,,,,", "miles", "negative"},
		"absurd miles":     {"a,k,2025-01-01,99999,1,1,1,1,,,,,,,", "miles", "more than 2000"},
		"unit":             {"a,k,2025-01-01,12 mi,1,1,1,1,,,,,,,", "miles", "not a number"},
		"minutes":          {"a,k,2025-01-01,1,1e3,1,1,1,,,,,,,", "minutes", "not a number"},
		"endless":          {"a,k,2025-01-01,1,Inf,1,1,1,,,,,,,", "minutes", "not a number"},
		"coin":             {"a,k,2025-01-01,1,1,1.005,1,1,,,,,,,", "cash", "a part of the smallest coin"},
		"cash":             {"a,k,2025-01-01,1,1,$3,1,1,,,,,,,", "cash", "not a number"},
		"much cash":        {"a,k,2025-01-01,1,1,99999999999999,1,1,,,,,,,", "cash", "more than any pickup costs"},
		"volume":           {"a,k,2025-01-01,1,1,1,500,1,,,,,,,", "volume", "more than 120"},
		"above the volume": {"a,k,2025-01-01,1,1,1,0.5,0.6,,,,,,,", "usable", "usable, held, never and lost make 0.6 of 0.5 m3"},
		"no wood":          {"a,k,2025-01-01,1,1,1,,0.6,,,,,,,", "usable", "usable, held, never and lost make 0.6 of 0 m3"},
		"held":             {"a,k,2025-01-01,1,1,1,0.5,0.3,x,,,,,,", "held", "not a number"},
		"outside":          {"a,k,2025-01-01,1,1,1,0.5,0.2,,0.3,,,,,", "outside", "more than usable"},
		"never":            {"a,k,2025-01-01,1,1,1,0.5,0.2,,,-0.1,,,,", "never", "negative"},
		"lost":             {"a,k,2025-01-01,1,1,1,0.5,0.2,,,,maybe,,,", "lost", "not a number"},
		"lots":             {"a,k,2025-01-01,1,1,1,0.5,0.2,,,,,1.5,,", "lots", "not a whole number up to 100,000"},
		"shop":             {"a,k,2025-01-01,1,1,1,0.5,0.2,,,,,,-5,", "shop_minutes", "negative"},
		"estimated":        {"a,k,2025-01-01,1,1,1,0.5,0.2,,,,,,,perhaps", "estimated", "neither yes nor no"},
		"many cells":       {"a,k,2025-01-01,1,1,1,0.5,0.2,,,,,,,,more", "", "the row has more cells than the header"},
		"quotes":           {"\"a,k", "", "extraneous or missing \" in quoted-field"},
	} {
		s := readSheet(t, header+"ok,k,2025-01-01,1,1,1,1,1,,,,,,,\n"+c.row+"\n", yield.SheetOptions{})
		require.Len(t, s.Faults, 1, name)
		f := s.Faults[0]
		require.Equal(t, 3, f.Row, name)
		require.Equal(t, c.column, f.Column, name)
		require.Equal(t, c.what, f.What, name)
		require.NotEmpty(t, f.Help, name)
		require.Contains(t, f.String(), "row 3", name)
		require.Len(t, s.Pickups, 1, name)
	}
}

func TestReadTripsWholeSheet(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ text, what string }{
		"empty":          {"", "the sheet is empty"},
		"missing column": {"source,date,volume\n", "the column is missing"},
		"twice":          {"source,date,volume,usable,Source\n", "the column is there twice"},
		"not UTF-8":      {"source,date,volume,usable\na\xff,2025-01-01,1,1\n", "the text is not UTF-8"},
		"a zip":          {"PK\x03\x04\x00\x00", "the column is missing"},
	} {
		s := readSheet(t, c.text, yield.SheetOptions{})
		require.NotEmpty(t, s.Faults, name)
		require.Equal(t, c.what, s.Faults[0].What, name)
		require.Empty(t, s.Pickups, name)
	}
	many := readSheet(t, "source,date,volume,usable\n"+strings.Repeat("a,never,1,1\n", 3000), yield.SheetOptions{})
	require.Len(t, many.Faults, 1001, "the list of faults ends somewhere")
	_, err := yield.ReadTrips(io.MultiReader(strings.NewReader("source"), failing{}), yield.SheetOptions{})
	require.ErrorIs(t, err, errFailing)
}

var errFailing = errors.New("the disk is gone")

type failing struct{}

func (failing) Read([]byte) (int, error) { return 0, errFailing }

// FuzzReadTrips never panics, and what it lets through is fit for analysis.
func FuzzReadTrips(f *testing.F) {
	for _, seed := range []string{
		"source,date,volume,usable\na,2025-01-01,0.5,0.2\n", "source;date;volume;usable\na;1.1.2025;0,5;0,2\n",
		"SOURCE\tdate\tvolume\tusable\theld\na\t2025-01-01\t1\t\t1\n", "\"", "source,date,volume,usable\n\"a\nb\",2025-01-01,1,1", "\ufeff,,,\n",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := yield.ReadTrips(strings.NewReader(text), yield.SheetOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if len(s.Rows) != len(s.Pickups) {
			t.Fatalf("%d rows for %d pickups", len(s.Rows), len(s.Pickups))
		}
		for i, p := range s.Pickups {
			if err := yield.CheckPickup(i, p); err != nil {
				t.Fatal(err)
			}
		}
	})
}
