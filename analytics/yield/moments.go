package yield

import "math"

// moments adds up a mixture of distributions by mean and variance.
type moments struct{ w, first, second float64 }

// add takes in one part of the mixture.
func (m *moments) add(weight, mean, variance float64) {
	m.w += weight
	m.first += weight * mean
	m.second += weight * (variance + mean*mean)
}

// mean of the mixture, whatever the weights add up to.
func (m *moments) mean() float64 { return m.first / m.w }

// variance of the mixture: that within the parts and that between them.
func (m *moments) variance() float64 {
	mean := m.mean()
	return math.Max(0, m.second/m.w-mean*mean)
}
