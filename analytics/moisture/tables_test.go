package moisture

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/wood"
)

// The tables are compiled in; what reads them ignores errors that cannot occur
// once this test has passed.
func TestTablesAreWhole(t *testing.T) {
	t.Parallel()
	meter, err := meterRows()
	require.NoError(t, err)
	require.Len(t, meter, 867)
	air, err := airTimes()
	require.NoError(t, err)
	require.Len(t, air.names, 55)
	_, err = targets()
	require.NoError(t, err)
	all, err := relatives()
	require.NoError(t, err)
	require.Len(t, all, len(wood.AllSpecies()))
	resistances := resistanceRows()
	for id, r := range all {
		require.Contains(t, []string{RelationOwn, RelationKin, RelationGroup}, r.meterRelation, id)
		require.Equal(t, r.meterRelation == RelationGroup, len(r.meterRows) == 0, id)
		require.Equal(t, r.airRelation == RelationGroup, len(r.airRows) == 0, id)
		for _, name := range r.meterRows {
			require.Contains(t, resistances, name, id)
		}
		for _, name := range r.airRows {
			require.Contains(t, air.times, name, id)
		}
	}
}

// What was not read on a page must say so, in every row.
func TestUnreadRowsSayFromMemory(t *testing.T) {
	t.Parallel()
	meter, err := meterRows()
	require.NoError(t, err)
	for _, m := range meter {
		require.Contains(t, []string{StatusChecked, StatusRead, StatusDerived, StatusMemory, StatusNotFound}, m.Status)
		switch m.Kind {
		case "resistance":
			require.Equal(t, StatusMemory, m.Status)
		case "species_reading":
			require.Equal(t, StatusDerived, m.Status)
		}
	}
	require.Contains(t, sourceJames, "from memory")
	require.Contains(t, sourceAirDrying, "from memory")
	require.Contains(t, sourcePfaff, "no page seen")
}

// Every row falls with moisture; white ash alone has the same megohms at its two
// wettest percents. The reference row falls strictly, so that a resistance means
// one moisture.
func TestResistanceFalls(t *testing.T) {
	t.Parallel()
	for name, row := range resistanceRows() {
		require.True(t, slices.IsSorted(row.mc), name)
		for i := 1; i < len(row.logR); i++ {
			require.LessOrEqual(t, row.logR[i], row.logR[i-1], "%s at %g %%", name, row.mc[i])
		}
	}
	reference := referenceScale()
	for mc := 4.0; mc < 34; mc += 0.5 {
		require.InDelta(t, mc, reference.mcAt(reference.logAt(mc)), 1e-9)
		require.Less(t, reference.logAt(mc+0.5), reference.logAt(mc))
	}
}

func TestSpeciesLinesReproduceTheTable(t *testing.T) {
	t.Parallel()
	rows := resistanceRows()
	meter, err := meterRows()
	require.NoError(t, err)
	tested := 0
	for _, m := range meter {
		row, known := rows[m.Species]
		if !known || m.Species == referenceRow {
			continue
		}
		a, b := speciesLine(rows[referenceRow], row)
		switch m.Kind {
		case "species_coefficient_a":
			require.InDelta(t, m.Value, a, 0.002, m.Species)
			tested++
		case "species_coefficient_b":
			require.InDelta(t, m.Value, b, 0.02, m.Species)
			tested++
		}
	}
	require.Equal(t, 40, tested)
}

func TestScalesGoThereAndBack(t *testing.T) {
	t.Parallel()
	for id, s := range scales() {
		if s.relation != RelationOwn {
			continue
		}
		for reading := 4.0; reading < 40; reading += 0.37 {
			require.InDelta(t, reading, at(&s.toScale, at(&s.toTrue, reading)), 0.05, "%s at %g", id, reading)
		}
	}
}

func TestBrokenTablesAreNamed(t *testing.T) {
	t.Parallel()
	for name, parse := range map[string]func() error{
		"meter header": func() error { _, err := parseMeter("a,b\n"); return err },
		"meter quotes": func() error { _, err := parseMeter("\""); return err },
		"meter row": func() error {
			_, err := parseMeter(meterCSV[:slices.Index([]byte(meterCSV), '\n')+1] + "resistance,x,,,,-1,,,,\n")
			return err
		},
		"relatives":      func() error { _, err := parseRelatives("id\nplastic,,,,\n"); return err },
		"air quotes":     func() error { _, err := parseAirTable("\""); return err },
		"air days":       func() error { _, err := parseAirTable("air_dry_time,x,1,green,20,9,3,,,,,,,\n"); return err },
		"air months":     func() error { _, err := parseAirTable("air_dry_time,x,1,green,20,3,9,,,,,,,\n"); return err },
		"target span":    func() error { _, err := parseTargets("h\nx,any,usual,12,13,14,s,memory,\n"); return err },
		"target quotes":  func() error { _, err := parseTargets("\""); return err },
		"relative quote": func() error { _, err := parseRelatives("\""); return err },
	} {
		require.Error(t, parse(), name)
	}
}

// Mills ratio values: Abramowitz and Stegun 26.2; far out by the asymptotic
// series, where Φ itself underflows.
func TestLogNormalTail(t *testing.T) {
	t.Parallel()
	for z, want := range map[float64][2]float64{
		0:   {-0.6931471805599453, 0.7978845608028654},
		-2:  {-3.783184, 2.373216},
		-29: {-424.787477, 29.034404},
		-40: {-804.608442, 40.024984},
	} {
		logP, ratio := logNormalTail(z)
		require.InDelta(t, want[0], logP, 1e-4*(1-want[0]), "ln Φ(%g)", z)
		require.InEpsilon(t, want[1], ratio, 1e-4, "φ/Φ(%g)", z)
	}
}
