package moisture

import (
	"math"
	"slices"
	"time"
)

// FitInput is what a drying curve is fitted to.
type FitInput struct {
	Obs     []Obs
	Climate Climate
	Prior   RatePrior
	// StartMean and StartSD describe the moisture at the first reading before it
	// was taken, percent; zero SD means 40 and 30, any wood out of a yard.
	StartMean, StartSD float64
	// Now, when set, refuses observations dated after it.
	Now time.Time
}

// The prior of the first moisture where none is given: packaging is anything
// from kiln-dry to fresh off the saw. One reading outweighs it a thousandfold.
const startMean, startSD = 40.0, 30.0

// The readings' stated error is itself uncertain: weather moves the stack about
// its curve. It is multiplied by a factor whose logarithm is normal about zero
// with this standard deviation; our judgement.
const errorDoubt = 0.3

// Posterior is what is known about a stack's drying curve
//
//	M(t) = E + (M0 - E) exp(-k t)
//
// after its readings: a grid over the drying rate and the readings' error, and
// at each node a joint normal distribution, exact given the node, of the start
// M0, the doubt about E, and the error that the readings share.
type Posterior struct {
	// Start is the time zero of the curve: the first reading used.
	Start time.Time
	// Last is the time of the last reading used.
	Last time.Time
	// M0 is the moisture at Start in percent, LogRate is ln k, k per day, and
	// EMCShift the doubt about the climate's equilibrium moisture, percent.
	M0, LogRate, EMCShift Estimate
	// Visits is the number of reading days used.
	Visits  int
	Notices []Notice

	climate Climate
	prior   RatePrior
	rates   []rateNode
	visits  []visit
}

// Estimate is a posterior mean with its standard deviation.
type Estimate struct {
	Mean float64 `json:"mean"`
	SD   float64 `json:"sd"`
}

// rateNode is one rate of the grid.
type rateNode struct {
	logK, k float64
	nodes   []node
}

// node is one rate with one error factor: its weight and the normal
// distribution of (M0, shift of E, shared error).
type node struct {
	weight float64
	normal
}

// errorNode is a point of the error factor's prior.
type errorNode struct{ factor, weight float64 }

// errorNodes integrate over the error factor: Gauss-Hermite, five points.
var errorNodes = func() []errorNode {
	points := []struct{ z, w float64 }{
		{-2.8569700138728056, 0.011257411327720691}, {-1.3556261799742659, 0.22207592200561266}, {0, 0.53333333333333333},
		{1.3556261799742659, 0.22207592200561266}, {2.8569700138728056, 0.011257411327720691},
	}
	out := make([]errorNode, len(points))
	for i, p := range points {
		out[i] = errorNode{math.Exp(errorDoubt * p.z), p.w}
	}
	return out
}()

// Fit returns the posterior of the drying curve through the observations.
//
// The rate's prior and the climate must be set. Readings out of order are
// sorted, one reading is enough (the rate is then the prior's), equal readings
// and rising ones are noticed, and after a wetting the curve starts again; see
// NoticeKind. Refused, with an *InputError that says which reading: percent
// outside 0 to 400, a date after Now, a reading without a time; ErrNoReadings
// for none.
func Fit(in FitInput) (*Posterior, error) {
	if err := in.check(); err != nil {
		return nil, err
	}
	start, visits, notices := groupVisits(in.Obs)
	visits, wetted := sinceRain(visits, start, &in.Climate)
	notices = append(notices, wetted...)
	switch {
	case len(visits) == 1:
		notices = append(notices, Notice{NoticeOneReading, "One reading day: the drying rate is only what is usual for this wood."})
	case allEqual(visits):
		notices = append(notices, Notice{NoticeAllEqual, "All readings are equal: the stack is at equilibrium, or the meter is stuck."})
	}
	// Time zero moves to the first visit in use.
	visits = slices.Clone(visits)
	offset := visits[0].day
	for i := range visits {
		visits[i].day -= offset
	}
	zero := start.Add(time.Duration(offset * 24 * float64(time.Hour)))
	p := &Posterior{
		Start: zero, Last: zero.Add(time.Duration(visits[len(visits)-1].day * 24 * float64(time.Hour))),
		Visits: len(visits), Notices: notices,
		climate: in.Climate, prior: in.Prior, visits: visits,
	}
	p.integrate(in.startPrior())
	return p, nil
}

// check refuses inputs that are no stack.
func (in *FitInput) check() error {
	if len(in.Obs) == 0 {
		return bad("number of readings", 0, ErrNoReadings, "take one reading and its date")
	}
	if err := checkObs(in.Obs, in.Now); err != nil {
		return err
	}
	if err := in.Climate.check(); err != nil {
		return err
	}
	if err := in.Prior.check(); err != nil {
		return err
	}
	if in.StartSD < 0 || !finite(in.StartSD) || !finite(in.StartMean) {
		return bad("prior of the first moisture", in.StartSD, ErrSetting, "leave both at zero when unknown")
	}
	return nil
}

// startPrior is the normal distribution of (M0, shift of E, shared error)
// before any reading.
func (in *FitInput) startPrior() normal {
	mean, sd := in.StartMean, in.StartSD
	if sd == 0 {
		mean, sd = startMean, startSD
	}
	var n normal
	n.mean[0] = mean
	n.cov[0][0], n.cov[1][1] = sd*sd, in.Climate.SD*in.Climate.SD
	return n
}

// The grid over ln k: first find the stretch that holds all but e^-gridDepth of
// the peak, then lay gridNodes over it.
const (
	gridNodes = 33
	gridDepth = 12.0
	scanNodes = 25
)

// integrate lays the grid and weighs its nodes.
func (p *Posterior) integrate(start normal) {
	var shared float64
	for _, s := range p.visits {
		shared += s.shared
	}
	shared /= float64(len(p.visits))
	start.cov[2][2] = shared * shared
	air := p.air()
	low, high := p.bracket(start, air)
	p.rates = make([]rateNode, gridNodes)
	step := (high - low) / (gridNodes - 1)
	paths := make([]pathPoint, len(p.visits))
	best := math.Inf(-1)
	for i := range p.rates {
		r := &p.rates[i]
		r.logK = low + step*float64(i)
		r.k = math.Exp(r.logK)
		air.path(r.k, p.visits, paths)
		r.nodes = make([]node, len(errorNodes))
		for j, e := range errorNodes {
			n, logEvidence := observe(start, p.visits, paths, e.factor)
			logWeight := logEvidence + math.Log(e.weight) - square((r.logK-p.prior.MeanLog)/p.prior.SDLog)/2
			r.nodes[j] = node{logWeight, n}
			best = max(best, logWeight)
		}
	}
	p.normalize(best)
	p.summarize()
}

// normalize turns log weights into weights that sum to one and drops nodes that
// carry next to nothing, so that later sums are short.
func (p *Posterior) normalize(best float64) {
	var total float64
	for i := range p.rates {
		r := &p.rates[i]
		kept := r.nodes[:0]
		for _, n := range r.nodes {
			n.weight = math.Exp(n.weight - best)
			if n.weight > 1e-5 {
				total += n.weight
				kept = append(kept, n)
			}
		}
		r.nodes = kept
	}
	p.rates = slices.DeleteFunc(p.rates, func(r rateNode) bool { return len(r.nodes) == 0 })
	for i := range p.rates {
		for j := range p.rates[i].nodes {
			p.rates[i].nodes[j].weight /= total
		}
	}
}

// bracket finds the stretch of ln k that matters, by scans that close in on the
// peak until it is resolved.
func (p *Posterior) bracket(start normal, air *air) (low, high float64) {
	low, high = p.prior.MeanLog-6*p.prior.SDLog, p.prior.MeanLog+6*p.prior.SDLog
	paths := make([]pathPoint, len(p.visits))
	var value [scanNodes]float64
	for range 6 {
		step := (high - low) / (scanNodes - 1)
		top := 0
		for i := range value {
			logK := low + step*float64(i)
			air.path(math.Exp(logK), p.visits, paths)
			_, value[i] = observe(start, p.visits, paths, 1)
			value[i] -= square((logK-p.prior.MeanLog)/p.prior.SDLog) / 2
			if value[i] > value[top] {
				top = i
			}
		}
		// A larger error factor flattens the likelihood, so the depth is
		// measured generously.
		first, last := top, top
		for first > 0 && value[first] > value[top]-gridDepth {
			first--
		}
		for last < scanNodes-1 && value[last] > value[top]-gridDepth {
			last++
		}
		low, high = low+step*float64(first), low+step*float64(last)
		if last-first >= scanNodes/2 {
			break
		}
	}
	return low, high
}

// summarize fills the exported estimates from the grid.
func (p *Posterior) summarize() {
	var logK, logK2, m0, m02, shift, shift2 float64
	for _, r := range p.rates {
		for _, n := range r.nodes {
			logK, logK2 = logK+n.weight*r.logK, logK2+n.weight*r.logK*r.logK
			m0, m02 = m0+n.weight*n.mean[0], m02+n.weight*(n.mean[0]*n.mean[0]+n.cov[0][0])
			shift, shift2 = shift+n.weight*n.mean[1], shift2+n.weight*(n.mean[1]*n.mean[1]+n.cov[1][1])
		}
	}
	sd := func(mean, second float64) float64 { return math.Sqrt(max(0, second-mean*mean)) }
	p.LogRate = Estimate{logK, sd(logK, logK2)}
	p.M0 = Estimate{m0, sd(m0, m02)}
	p.EMCShift = Estimate{shift, sd(shift, shift2)}
}

// GridPoint is one node of the posterior, for showing and for checking.
type GridPoint struct {
	LogRate, Weight float64
	M0              Estimate
}

// Grid returns the nodes of the posterior with weights that sum to one.
func (p *Posterior) Grid() []GridPoint {
	var out []GridPoint
	for _, r := range p.rates {
		for _, n := range r.nodes {
			out = append(out, GridPoint{r.logK, n.weight, Estimate{n.mean[0], math.Sqrt(max(0, n.cov[0][0]))}})
		}
	}
	return out
}

// RateLikelihood returns what the stack's own readings say about ln k, apart
// from its prior: the normal distribution that, multiplied with the prior,
// gives the posterior's mean and standard deviation. ok is false when the
// readings say next to nothing. Pool takes it, so that a prior never counts
// twice.
func (p *Posterior) RateLikelihood() (e Estimate, ok bool) {
	prior := 1 / square(p.prior.SDLog)
	after := 1 / square(p.LogRate.SD)
	if !finite(after) || after-prior < 0.05*prior {
		return Estimate{}, false
	}
	own := after - prior
	return Estimate{(p.LogRate.Mean*after - p.prior.MeanLog*prior) / own, 1 / math.Sqrt(own)}, true
}
