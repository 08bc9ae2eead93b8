package moisture

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Problem is a nonlinear least-squares problem: find the parameters for which
// the sum of squares of the residuals is least.
type Problem struct {
	// Residuals writes the residuals, observed minus model, at p into r.
	Residuals func(p, r []float64)
	// N is the number of residuals, at least that of the parameters.
	N int
	// Jacobian writes ∂residual/∂parameter at p into j, N by len(p). Nil means
	// central differences.
	Jacobian func(p []float64, j *mat.Dense)
	// MaxIterations bounds the steps tried; zero means 500.
	MaxIterations int
}

// Solution is the end of a least-squares fit.
type Solution struct {
	P          []float64 // the parameters
	RSS        float64   // residual sum of squares
	DF         int       // residuals minus parameters
	SD         []float64 // standard errors, NaN when DF is zero
	Cov        *mat.Dense
	Iterations int
}

// Sigma is the residual standard deviation, NaN when there are no degrees of
// freedom.
func (s Solution) Sigma() float64 {
	if s.DF <= 0 {
		return math.NaN()
	}
	return math.Sqrt(s.RSS / float64(s.DF))
}

// LeastSquares solves p from a start by the method of Levenberg (1944) and
// Marquardt (1963), each damped step by orthogonal factorization of the
// Jacobian itself rather than of its square, so that ill-conditioned sums of
// exponentials keep their digits. It returns ErrNoConvergence when the steps
// run out or the residuals stop being finite.
func LeastSquares(p Problem, start []float64) (Solution, error) {
	if len(start) == 0 || p.N < len(start) {
		return Solution{}, bad("number of observations", float64(p.N), ErrNoReadings,
			fmt.Sprintf("%d parameters need at least as many", len(start)))
	}
	s := newSearch(p, start)
	if !finite(s.rss) {
		return Solution{}, fmt.Errorf("least squares at the start: %w", ErrNotFinite)
	}
	limit := p.MaxIterations
	if limit <= 0 {
		limit = 500
	}
	for i := 1; i <= limit; i++ {
		done, err := s.step()
		if err != nil {
			return Solution{}, err
		}
		if done {
			return s.solution(i)
		}
	}
	return Solution{}, fmt.Errorf("least squares after %d steps: %w", limit, ErrNoConvergence)
}

// search is the state of one Levenberg-Marquardt run.
type search struct {
	problem     Problem
	p, trial    []float64
	r, rTrial   []float64
	rss         float64
	scale       []float64 // largest column norms seen (Moré 1978)
	damping     float64
	growth      float64
	jacobian    *mat.Dense
	needed      bool // whether the Jacobian must be computed again
	small       int  // steps in a row that changed nothing
	work, right *mat.Dense
}

func newSearch(problem Problem, start []float64) *search {
	n, k := problem.N, len(start)
	s := &search{
		problem: problem, p: append([]float64(nil), start...), trial: make([]float64, k),
		r: make([]float64, n), rTrial: make([]float64, n), scale: make([]float64, k),
		damping: 1e-3, growth: 2, jacobian: mat.NewDense(n, k, nil), needed: true,
		work: mat.NewDense(n+k, k, nil), right: mat.NewDense(n+k, 1, nil),
	}
	problem.Residuals(s.p, s.r)
	s.rss = sumSquares(s.r)
	return s
}

// step tries one damped step and reports whether the search is over.
func (s *search) step() (bool, error) {
	// The Jacobian is kept while steps are refused: only the damping changed.
	if s.needed {
		s.linearize()
	}
	delta, err := s.solve()
	if err != nil {
		return false, err
	}
	var moved float64
	for i := range s.p {
		d := delta.At(i, 0)
		s.trial[i] = s.p[i] - d
		// Movement relative to the parameter itself, because k is a thousandth
		// and M0 tens.
		moved = max(moved, math.Abs(d)/(math.Abs(s.p[i])+1e-12))
	}
	s.problem.Residuals(s.trial, s.rTrial)
	rss := sumSquares(s.rTrial)
	// Written so that NaN counts as worse.
	if !(rss <= s.rss) { // worse, or not finite
		if moved < 1e-13 || s.damping > 1e18 {
			return true, nil
		}
		// Refusals in a row raise the damping ever faster (Nielsen 1999), so that
		// a start far off is left quickly.
		s.damping *= s.growth
		s.growth *= 2
		return false, nil
	}
	gain := s.rss - rss
	s.p, s.trial, s.r, s.rTrial = s.trial, s.p, s.rTrial, s.r
	// Two signs of an end: the parameters stand still, or the sum does while
	// they hardly move.
	settled := moved < 1e-10 || gain <= 1e-14*s.rss && moved < 1e-7
	s.rss, s.needed = rss, true
	s.damping, s.growth = max(s.damping/5, 1e-20), 2
	// One such step can be chance on a flat stretch; two are not.
	if settled {
		s.small++
	} else {
		s.small = 0
	}
	return s.small >= 2 || rss == 0, nil
}

// linearize computes the Jacobian at p.
func (s *search) linearize() {
	if s.problem.Jacobian != nil {
		s.problem.Jacobian(s.p, s.jacobian)
	} else {
		s.differences()
	}
	for j := range s.scale {
		var norm float64
		for i := range s.problem.N {
			norm += square(s.jacobian.At(i, j))
		}
		// The largest norm seen, so that a column that fades does not let its
		// parameter run away.
		s.scale[j] = max(s.scale[j], math.Sqrt(norm), 1e-300)
	}
	s.needed = false
}

// differences fills the Jacobian by central differences.
func (s *search) differences() {
	up, down := make([]float64, s.problem.N), make([]float64, s.problem.N)
	p := append([]float64(nil), s.p...)
	for j, v := range s.p {
		// The cube root of the rounding unit balances truncation and rounding.
		h := 6e-6 * max(math.Abs(v), 1e-8)
		p[j] = v + h
		s.problem.Residuals(p, up)
		p[j] = v - h
		s.problem.Residuals(p, down)
		p[j] = v
		for i := range up {
			s.jacobian.Set(i, j, (up[i]-down[i])/(2*h))
		}
	}
}

// solve returns the damped step: least squares of the Jacobian with the scaled
// damping appended as rows.
func (s *search) solve() (*mat.Dense, error) {
	n, k := s.problem.N, len(s.p)
	s.work.Zero()
	s.right.Zero()
	for i := range n {
		for j := range k {
			s.work.Set(i, j, s.jacobian.At(i, j))
		}
		s.right.Set(i, 0, s.r[i])
	}
	// The damping as rows of a least-squares problem: same solution as adding
	// it to JᵀJ, without squaring the condition.
	root := math.Sqrt(s.damping)
	for j := range k {
		s.work.Set(n+j, j, root*s.scale[j])
	}
	var qr mat.QR
	qr.Factorize(s.work)
	var delta mat.Dense
	// Only the magnitude of the condition matters: the damping rows keep the
	// system solvable, and a poor step is refused afterwards anyway.
	if err := qr.SolveTo(&delta, false, s.right); err != nil {
		var condition mat.Condition
		if !errors.As(err, &condition) {
			return nil, fmt.Errorf("least squares: %w: %w", ErrNoConvergence, err)
		}
	}
	return &delta, nil
}

// solution adds the standard errors: the inverse of JᵀJ from the triangle of
// the Jacobian's factorization.
func (s *search) solution(iterations int) (Solution, error) {
	if s.needed {
		s.linearize()
	}
	k := len(s.p)
	out := Solution{P: s.p, RSS: s.rss, DF: s.problem.N - k, Iterations: iterations, SD: make([]float64, k)}
	var qr mat.QR
	qr.Factorize(s.jacobian)
	var full mat.Dense
	qr.RTo(&full)
	// JᵀJ = RᵀR, so its inverse is R⁻¹R⁻ᵀ, and J is never squared.
	triangle := full.Slice(0, k, 0, k)
	var inverse, cov mat.Dense
	if err := inverse.Inverse(triangle); err != nil {
		var condition mat.Condition
		if !errors.As(err, &condition) || math.IsInf(float64(condition), 1) {
			return Solution{}, fmt.Errorf("least squares: the readings cannot tell the parameters apart: %w", ErrNoConvergence)
		}
	}
	cov.Mul(&inverse, inverse.T())
	variance := out.Sigma() * out.Sigma()
	cov.Scale(variance, &cov)
	for i := range k {
		out.SD[i] = math.Sqrt(cov.At(i, i))
	}
	out.Cov = &cov
	return out, nil
}

func sumSquares(r []float64) float64 {
	var sum float64
	for _, v := range r {
		sum += v * v
	}
	return sum
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
