package moisture_test

import (
	"encoding/json"
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/moisture"
)

func ptr(v float64) *float64 { return &v }

// rowSpecies gives a species id that the resistance table has a row of its own
// for.
var rowSpecies = map[string]string{
	"Douglas-fir (coast)": "douglas_fir_coast", "Fir, white": "fir_white", "Hemlock, western": "hemlock_western",
	"Larch, western": "larch_western", "Pine, eastern white": "pine_eastern_white", "Pine, longleaf": "pine_longleaf",
	"Pine, ponderosa": "pine_ponderosa", "Pine, shortleaf": "pine_shortleaf", "Pine, sugar": "pine_sugar", "Redwood": "redwood",
	"Spruce, Sitka": "spruce_sitka", "Ash, commercial white": "ash_white", "Basswood": "basswood", "Elm, American": "elm_american",
	"Maple, sugar": "maple_sugar", "Oak, northern red": "oak_northern_red", "Oak, white": "oak_white", "Sweetgum": "sweetgum",
	"Yellow-poplar": "yellow_poplar",
}

// atFormulaZero is the temperature at which the temperature formula changes a
// reading least, so that a species correction can be seen by itself.
const atFormulaZero = 22.7

func TestPinCorrectionReturnsTheTable(t *testing.T) {
	t.Parallel()
	// species_reading rows: derived from James 1988, FPL-GTR-6 Table 1, from
	// memory, by another program; readings carry one decimal.
	rows, err := moisture.MeterTable()
	require.NoError(t, err)
	tested := 0
	for _, row := range rows {
		id, known := rowSpecies[row.Species]
		if row.Kind != "species_reading" || !known || row.MC > 24 || row.Reading > 25 {
			continue
		}
		c, err := moisture.CorrectWith(moisture.Reading{Raw: row.Reading, Method: moisture.MethodPin, Species: id},
			moisture.Options{Compensated: true})
		require.NoError(t, err)
		require.InDelta(t, row.MC, c.Percent, 0.11, "%s at %g", row.Species, row.MC)
		tested++
	}
	require.Greater(t, tested, 280)
}

func TestSpeciesLinesAreTheDerivedOnes(t *testing.T) {
	t.Parallel()
	// species_coefficient rows: reading = a MC + b by least squares over 8 to
	// 24 %, derived. A reading on the line must come back within the row's
	// worst residual, at most 0.95, plus its slope.
	rows, err := moisture.MeterTable()
	require.NoError(t, err)
	a := map[string]float64{}
	tested := 0
	for _, row := range rows {
		switch row.Kind {
		case "species_coefficient_a":
			a[row.Species] = row.Value
		case "species_coefficient_b":
			id, known := rowSpecies[row.Species]
			if !known || math.IsNaN(row.Value) {
				continue
			}
			for _, mc := range []float64{10, 14, 18} {
				c, err := moisture.CorrectWith(moisture.Reading{Raw: a[row.Species]*mc + row.Value, Method: moisture.MethodPin, Species: id},
					moisture.Options{Compensated: true})
				require.NoError(t, err)
				require.InDelta(t, mc, c.Percent, 1.0, row.Species)
				tested++
			}
		}
	}
	require.Equal(t, 3*len(rowSpecies), tested)
}

func TestTemperatureFormula(t *testing.T) {
	t.Parallel()
	// temperature_formula rows: Pfaff and Garrahan 1986 as recalled, evaluated
	// by another program to two decimals.
	rows, err := moisture.MeterTable()
	require.NoError(t, err)
	tested := 0
	for _, row := range rows {
		if row.Kind == "temperature_formula" {
			require.InDelta(t, row.Value, moisture.TemperatureCorrected(row.Reading, row.TempC), 0.0051, "%g at %g °C", row.Reading, row.TempC)
			tested++
		}
	}
	require.Equal(t, 70, tested)
	require.InDelta(t, 15, moisture.TemperatureCorrected(15, atFormulaZero), 0.02)
}

func TestTemperatureFormulaKeepsNearTheHandbookRule(t *testing.T) {
	t.Parallel()
	// The rule (0.5 % per 5.6 °C, Wood handbook ch. 13, read) and the formula
	// (not read) confirm one another: within 0.6 from 5 to 35 °C at 10 to 15 %.
	for c := 5.0; c <= 35; c++ {
		for r := 10.0; r <= 15; r++ {
			require.InDelta(t, moisture.HandbookTemperatureRule(r, c, 21), moisture.TemperatureCorrected(r, c), 0.65, "%g %% at %g °C", r, c)
		}
	}
	// The rule's own table: +1.5 at 30 °F colder, -1.5 at 30 °F warmer.
	require.InDelta(t, 13.5, moisture.HandbookTemperatureRule(12, 21-30/1.8, 21), 0.02)
	require.InDelta(t, 10.5, moisture.HandbookTemperatureRule(12, 21+30/1.8, 21), 0.02)
}

func TestOhmReadsTheResistanceTable(t *testing.T) {
	t.Parallel()
	// resistance rows: James 1988, FPL-GTR-6 Table 1, from memory; 26.7 °C.
	// Beyond 25 % the Douglas-fir row ends and the scale is extrapolated.
	rows, err := moisture.MeterTable()
	require.NoError(t, err)
	douglas, tested := 0.46, 0
	for _, row := range rows {
		id, known := rowSpecies[row.Species]
		if row.Kind != "resistance" || !known || row.Value < douglas {
			continue
		}
		c, err := moisture.Correct(moisture.Reading{Raw: row.Value, Method: moisture.MethodOhm, Species: id, WoodTempC: ptr(26.7)})
		require.NoError(t, err)
		require.InDelta(t, row.MC, c.Percent, 0.06, "%s at %g %%", row.Species, row.MC)
		tested++
	}
	require.Greater(t, tested, 300)
}

func TestOnePairOfNailsReadsWetterThanTheNumber(t *testing.T) {
	t.Parallel()
	two, err := moisture.Correct(moisture.Reading{Raw: 120, Method: moisture.MethodOhm, Species: "douglas_fir_coast", WoodTempC: ptr(26.7)})
	require.NoError(t, err)
	require.InDelta(t, 12, two.Percent, 1e-6)
	one, err := moisture.Correct(moisture.Reading{Raw: 120, Method: moisture.MethodOhm, Species: "douglas_fir_coast", WoodTempC: ptr(26.7), Setting: moisture.SettingOnePair})
	require.NoError(t, err)
	// 60 megohms are 13 % in the table.
	require.InDelta(t, 13, one.Percent, 1e-6)
}

func TestTemperatureComesBeforeSpecies(t *testing.T) {
	t.Parallel()
	c, err := moisture.Correct(moisture.Reading{Raw: 15, Method: moisture.MethodPin, Species: "pine_eastern_white", WoodTempC: ptr(5)})
	require.NoError(t, err)
	require.Len(t, c.Steps, 3)
	require.Equal(t, []string{"wood temperature", "species", "range"}, []string{c.Steps[0].Name, c.Steps[1].Name, c.Steps[2].Name})
	// wood.md: 17.04 at 5 °C and 15 %.
	require.InDelta(t, 17.04, c.Steps[0].After, 0.01)
	require.Equal(t, moisture.StatusMemory, c.Steps[0].Status)
	require.Equal(t, moisture.StatusDerived, c.Steps[1].Status)
	require.Contains(t, c.Steps[1].Source, "from memory")
	for i, s := range c.Steps {
		require.InDelta(t, s.After, append(c.Steps, moisture.Step{Before: c.Percent})[i+1].Before, 1e-12, "steps join")
	}
}

func TestMeterSetToTheSpeciesIsNotCorrectedTwice(t *testing.T) {
	t.Parallel()
	for _, id := range rowSpecies {
		c, err := moisture.CorrectWith(moisture.Reading{Raw: 14, Method: moisture.MethodPin, Species: id, Setting: id}, moisture.Options{Compensated: true})
		require.NoError(t, err)
		require.InDelta(t, 14, c.Percent, 0.05, id)
	}
	unknown, err := moisture.Correct(moisture.Reading{Raw: 14, Method: moisture.MethodPin, Species: "oak_white", Setting: "group 3"})
	require.NoError(t, err)
	plain, err := moisture.Correct(moisture.Reading{Raw: 14, Method: moisture.MethodPin, Species: "oak_white"})
	require.NoError(t, err)
	require.InDelta(t, plain.Percent, unknown.Percent, 1e-12)
	require.Greater(t, unknown.SD, plain.SD)
}

func TestOutsideItsRangeAnInstrumentGivesNoNumber(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		reading moisture.Reading
		want    string
		bound   float64
	}{
		"bone dry":   {moisture.Reading{Raw: 4, Method: moisture.MethodPin}, moisture.RangeBelow, 6},
		"zero":       {moisture.Reading{Raw: 0, Method: moisture.MethodPin}, moisture.RangeBelow, 6},
		"fresh":      {moisture.Reading{Raw: 45, Method: moisture.MethodPin}, moisture.RangeAbove, 30},
		"open":       {moisture.Reading{Raw: 1e6, Method: moisture.MethodOhm}, moisture.RangeBelow, 6},
		"short":      {moisture.Reading{Raw: 1e-4, Method: moisture.MethodOhm}, moisture.RangeAbove, 30},
		"pinless":    {moisture.Reading{Raw: 80, Method: moisture.MethodPinless}, moisture.RangeAbove, 30},
		"oven knows": {moisture.Reading{Raw: 80, Method: moisture.MethodOvenDry}, moisture.RangeIn, 0},
	} {
		got, err := moisture.Correct(c.reading)
		require.NoError(t, err, name)
		require.Equal(t, c.want, got.Range, name)
		require.InDelta(t, c.bound, got.Bound, 0, name)
		require.Equal(t, c.want == moisture.RangeIn, got.Known(), name)
		require.Equal(t, !got.Known(), math.IsNaN(got.Percent), name)
		text, err := json.Marshal(got)
		require.NoError(t, err, name)
		require.NotContains(t, string(text), "NaN")
	}
}

func TestMasses(t *testing.T) {
	t.Parallel()
	// 6 kg to 5 kg is 20 % (an Australian flooring course, read); 98.55 g to
	// 59.20 g is 66.47 % (Dry kiln operator's manual, from memory).
	for _, c := range []struct{ wet, dry, want float64 }{{6000, 5000, 20}, {98.55, 59.20, 66.47}} {
		got, err := moisture.Correct(moisture.Reading{Method: moisture.MethodOvenDry, WetGrams: &c.wet, DryGrams: &c.dry})
		require.NoError(t, err)
		require.InDelta(t, c.want, got.Percent, 0.005)
		require.Less(t, got.SD, 1.5)
	}
	got, err := moisture.Correct(moisture.Reading{Method: moisture.MethodSample, WetGrams: ptr(1150), DryGrams: ptr(1000)})
	require.NoError(t, err)
	require.InDelta(t, 15, got.Percent, 1e-9)
}

func TestCorrectRefuses(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		reading moisture.Reading
		want    error
	}{
		"percent below zero":  {moisture.Reading{Raw: -1, Method: moisture.MethodPin}, moisture.ErrPercent},
		"percent above 400":   {moisture.Reading{Raw: 401, Method: moisture.MethodPin}, moisture.ErrPercent},
		"not a number":        {moisture.Reading{Raw: math.NaN(), Method: moisture.MethodPin}, moisture.ErrNotFinite},
		"no resistance":       {moisture.Reading{Raw: 0, Method: moisture.MethodOhm}, moisture.ErrResistance},
		"°F":                  {moisture.Reading{Raw: 12, Method: moisture.MethodPin, WoodTempC: ptr(68)}, moisture.ErrTemperatureUnit},
		"kelvin":              {moisture.Reading{Raw: 12, Method: moisture.MethodPin, WoodTempC: ptr(293)}, moisture.ErrTemperatureUnit},
		"temperature unknown": {moisture.Reading{Raw: 12, Method: moisture.MethodPin, WoodTempC: ptr(math.Inf(1))}, moisture.ErrNotFinite},
		"dry above wet":       {moisture.Reading{Method: moisture.MethodOvenDry, WetGrams: ptr(90), DryGrams: ptr(100)}, moisture.ErrMassOrder},
		"one mass":            {moisture.Reading{Method: moisture.MethodOvenDry, WetGrams: ptr(90)}, moisture.ErrMass},
		"mass zero":           {moisture.Reading{Method: moisture.MethodOvenDry, WetGrams: ptr(90), DryGrams: ptr(0)}, moisture.ErrMass},
		"mixed mass units":    {moisture.Reading{Method: moisture.MethodOvenDry, WetGrams: ptr(1000), DryGrams: ptr(1)}, moisture.ErrPercent},
		"unknown method":      {moisture.Reading{Raw: 12, Method: "thumb"}, moisture.ErrMethod},
		"unknown species":     {moisture.Reading{Raw: 12, Method: moisture.MethodPin, Species: "plastic"}, moisture.ErrSpecies},
	} {
		_, err := moisture.Correct(c.reading)
		require.ErrorIs(t, err, c.want, name)
		var input *moisture.InputError
		require.ErrorAs(t, err, &input, name)
		require.NotEmpty(t, input.Help, name)
	}
}

// anyReading draws a reading that Correct takes.
func anyReading(t *rapid.T) moisture.Reading {
	r := moisture.Reading{
		Method: rapid.SampledFrom(moisture.Methods()).Draw(t, "method"),
		Raw:    rapid.Float64Range(0, 400).Draw(t, "raw"),
	}
	if r.Method == moisture.MethodOhm {
		r.Raw = math.Exp(rapid.Float64Range(-10, 12).Draw(t, "log megohms"))
	}
	if rapid.Bool().Draw(t, "has temperature") {
		r.WoodTempC = ptr(rapid.Float64Range(-40, 60).Draw(t, "°C"))
	}
	ids := []string{"", "spruce_norway", "oak_white", "redwood", "keruing", "pine_loblolly", "mango"}
	r.Species = rapid.SampledFrom(ids).Draw(t, "species")
	r.Setting = rapid.SampledFrom(append(ids, "7")).Draw(t, "setting")
	return r
}

func TestQuickIsTheSameFunction(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := anyReading(t)
		slow, err := moisture.Correct(r)
		require.NoError(t, err)
		quick, err := moisture.CorrectQuick(&r, &moisture.Options{})
		require.NoError(t, err)
		require.NotEmpty(t, slow.Steps)
		require.Nil(t, quick.Steps)
		slow.Steps = nil
		if slow.Known() {
			require.Equal(t, slow, quick)
			require.Positive(t, quick.SD)
			require.GreaterOrEqual(t, quick.SD, quick.Shared)
		} else {
			require.Equal(t, slow.Range, quick.Range)
		}
	})
}

func TestMoreShownIsMoreWater(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := anyReading(t)
		r.Method, r.Raw = moisture.MethodPin, rapid.Float64Range(8, 22).Draw(t, "percent")
		r.WoodTempC = ptr(rapid.Float64Range(-10, 40).Draw(t, "°C"))
		one, err := moisture.Correct(r)
		require.NoError(t, err)
		r.Raw += 1
		other, err := moisture.Correct(r)
		require.NoError(t, err)
		if one.Known() && other.Known() {
			require.Greater(t, other.Percent, one.Percent)
		}
	})
}

func TestCorrectQuickAllocatesNothing(t *testing.T) {
	r := moisture.Reading{Raw: 15, Method: moisture.MethodPin, Species: "pine_eastern_white", WoodTempC: ptr(5)}
	o := moisture.Options{}
	require.Zero(t, testing.AllocsPerRun(100, func() {
		if _, err := moisture.CorrectQuick(&r, &o); err != nil {
			panic(err)
		}
	}))
}

func TestDoubtsQueryAndDoNotRefuse(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 5, 2, 8, 0, 0, 0, time.UTC)
	last := []moisture.Reading{{Raw: 35, Method: moisture.MethodPin, At: now.Add(-12 * time.Hour), Place: "middle"}}
	for name, c := range map[string]struct {
		reading moisture.Reading
		want    moisture.DoubtKind
	}{
		"zero":            {moisture.Reading{Raw: 0, Method: moisture.MethodPinless, At: now}, moisture.DoubtZero},
		"300":             {moisture.Reading{Raw: 300, Method: moisture.MethodPinless, At: now}, moisture.DoubtTooWet},
		"300, light wood": {moisture.Reading{Raw: 300, Species: "pine_eastern_white", Method: moisture.MethodPinless, At: now}, moisture.DoubtTooWet},
		"overnight":       {moisture.Reading{Raw: 14, Method: moisture.MethodPin, At: now}, moisture.DoubtJump},
		"warm for wood":   {moisture.Reading{Raw: 30, Method: moisture.MethodPin, At: now, WoodTempC: ptr(55)}, moisture.DoubtUnit},
		"tomorrow":        {moisture.Reading{Raw: 30, Method: moisture.MethodPin, At: now.Add(time.Hour)}, moisture.DoubtFuture},
		"the same again":  {moisture.Reading{Raw: 31, Method: moisture.MethodPin, At: last[0].At, Place: "middle"}, moisture.DoubtRepeat},
	} {
		got := moisture.Doubts(c.reading, last, now)
		require.Len(t, got, 1, name)
		require.Equal(t, c.want, got[0].Kind, name)
		require.NotEmpty(t, got[0].Text)
	}
	require.Empty(t, moisture.Doubts(moisture.Reading{Raw: 33, Method: moisture.MethodPin, At: now, WoodTempC: ptr(12)}, last, now))
}

// BenchmarkCorrectQuick is what an import pays for each reading.
func BenchmarkCorrectQuick(b *testing.B) {
	for _, species := range []string{"pine_eastern_white", ""} {
		b.Run("species "+strconv.Quote(species), func(b *testing.B) {
			r := moisture.Reading{Raw: 15, Method: moisture.MethodPin, Species: species, WoodTempC: ptr(5)}
			o := moisture.Options{}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := moisture.CorrectQuick(&r, &o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
