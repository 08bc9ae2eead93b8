package moisture

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// MeanOf returns the mean of several boards' corrected moistures in percent
// and, from two boards on, Student's t interval of that mean at the given
// confidence (0.9 for 90 %); SD is that of the mean. With one board the SD and
// both ends are NaN: one board says nothing of the others.
//
// The interval counts how the boards differ, not what one meter reads wrong on
// all of them. No boards are ErrNoReadings, NaN and infinities ErrNotFinite, a
// confidence outside 0 to 1 is ErrSetting. Source: Student 1908, Biometrika 6:1-25.
func MeanOf(percents []float64, confidence float64) (Estimate, Interval, error) {
	none := Interval{math.NaN(), math.NaN()}
	if !(confidence > 0 && confidence < 1) { // NaN too
		return Estimate{}, none, &InputError{Field: "confidence", Index: -1, Value: confidence, Err: ErrSetting, Help: "give a number between 0 and 1, such as 0.9"}
	}
	if len(percents) == 0 {
		return Estimate{}, none, ErrNoReadings
	}
	for i, p := range percents {
		if math.IsNaN(p) || math.IsInf(p, 0) {
			return Estimate{}, none, &InputError{Field: "percent", Index: i, Value: p, Err: ErrNotFinite, Help: "leave out boards without a corrected reading"}
		}
	}
	n := float64(len(percents))
	mean, sd := stat.MeanStdDev(percents, nil)
	if len(percents) == 1 {
		return Estimate{Mean: mean, SD: math.NaN()}, none, nil
	}
	e := Estimate{Mean: mean, SD: sd / math.Sqrt(n)}
	half := e.SD * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 1}.Quantile((1+confidence)/2)
	// No board holds less than no water.
	return e, Interval{math.Max(0, mean-half), mean + half}, nil
}
