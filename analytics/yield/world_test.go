package yield_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"skepwood/analytics/yield"
)

// day0 is the first day of every simulated book.
var day0 = time.Date(2024, 3, 2, 0, 0, 0, 0, time.UTC)

// world is a simulated neighbourhood whose truth is known. It is drawn so that
// books look like those of a keeper: loads of a few pallets that vary by half to
// twice from trip to trip, drives in vain, lots of different fate, and sources
// that are alike but not the same. None of its shapes is exactly that of the
// model: usable shares come from single lots that are cleared or not and are cut
// with a beta-distributed yield.
type world struct {
	prices  yield.Prices
	terms   yield.Terms
	sources []truth
}

// truth is what one source is.
type truth struct {
	id, kind           string
	brings             float64 // chance of anything
	level, noise       float64 // log m³
	never, outside     float64 // chances of a lot
	cut                float64 // mean share of a cleared lot that is usable
	miles              float64
	pace, paceNoise    float64
	fixed, perMile, m3 float64 // minutes
}

// worldOptions choose a world; the zero value draws the usual one.
type worldOptions struct {
	sources  int
	contrast float64 // of the sources; 0 means 1, 2 is twice as unlike
}

func newWorld(r *rand.Rand, o worldOptions) *world {
	if o.sources == 0 {
		o.sources = 5 + r.IntN(8)
	}
	hour := []float64{0, 0, 500, 1200}[r.IntN(4)]
	perFoot := 150 + 200*r.Float64()
	w := &world{prices: prices(67, perFoot, perFoot*(0.4+0.6*r.Float64()), hour)}
	w.terms, _ = w.prices.On(day0)
	c := o.contrast
	if c == 0 {
		c = 1
	}
	centre := math.Log(0.06 + 0.25*r.Float64())
	noise, spread := 0.65+0.4*r.Float64(), c*(0.05+0.2*r.Float64())
	kinds := 1 + r.IntN(3)
	between := c * 0.3 * r.Float64()
	brings, likeness := 0.6+0.35*r.Float64(), math.Exp(math.Log(15)+r.Float64()*math.Log(5))/(c*c)
	never, cut := 0.05+0.25*r.Float64(), 0.45+0.3*r.Float64()
	kindLevel := make([]float64, kinds)
	for k := range kindLevel {
		kindLevel[k] = centre + between*r.NormFloat64()
	}
	around := func(mean, likeness float64) float64 { return beta(r, mean*likeness, (1-mean)*likeness) }
	for i := range o.sources {
		k := r.IntN(kinds)
		w.sources = append(w.sources, truth{
			id: fmt.Sprintf("s%02d", i), kind: fmt.Sprintf("kind %d", k),
			brings: around(brings, likeness),
			level:  kindLevel[k] + spread*r.NormFloat64(), noise: noise,
			never: around(never, 20/(c*c)), outside: 0.5 * r.Float64(), cut: around(cut, 40/(c*c)),
			miles: 3 + 25*r.Float64(), pace: math.Exp(0.15 * c * r.NormFloat64()), paceNoise: 0.25,
			fixed: 15, perMile: 2, m3: 150,
		})
	}
	return w
}

// prices returns constant prices in US cents: a mile, a board foot inside and
// outside, an hour.
func prices(mile, inside, outside, hour float64) yield.Prices {
	always := func(minor float64) yield.Schedule { return yield.Schedule{{Minor: minor, Currency: "USD"}} }
	return yield.Prices{
		Currency: "USD", Mile: always(mile), Hour: always(hour),
		Inside:  yield.Schedule{yield.PerBoardFoot(yield.Rate{Minor: inside, Currency: "USD"})},
		Outside: yield.Schedule{yield.PerBoardFoot(yield.Rate{Minor: outside, Currency: "USD"})},
	}
}

// trip drives once: all is the outcome when every lot is decided, now the
// pickup as it stands in the book with some lots on hold.
func (t truth) trip(r *rand.Rand, day time.Time, held float64) (all, now yield.Pickup) {
	p := yield.Pickup{SourceID: t.id, Kind: t.kind, Date: day, Miles: t.miles}
	if r.Float64() < t.brings {
		p.Volume = math.Exp(t.level + t.noise*r.NormFloat64())
	} else {
		p.Empty = true
	}
	p.Minutes = (t.fixed + t.perMile*t.miles + t.m3*p.Volume) * t.pace * math.Exp(t.paceNoise*r.NormFloat64())
	all, now = p, p
	if p.Empty {
		return all, now
	}
	parts := make([]float64, 1+r.IntN(4))
	var sum float64
	for i := range parts {
		parts[i] = 0.5 + r.Float64()
		sum += parts[i]
	}
	for _, part := range parts {
		lot := yield.Pickup{}
		v := p.Volume * part / sum * (1 - 1e-12)
		switch u := r.Float64(); {
		case u < t.never:
			lot.Never = v
		case u < t.never+(1-t.never)*t.outside:
			lot.Outside = v * beta(r, 12*t.cut, 12*(1-t.cut))
		default:
			lot.Inside = v * beta(r, 12*t.cut, 12*(1-t.cut))
		}
		all.Inside, all.Outside, all.Never = all.Inside+lot.Inside, all.Outside+lot.Outside, all.Never+lot.Never
		if r.Float64() < held {
			now.Held += v
		} else {
			now.Inside, now.Outside, now.Never = now.Inside+lot.Inside, now.Outside+lot.Outside, now.Never+lot.Never
		}
	}
	return all, now
}

// expected is the true mean net of a trip.
func (t truth) expected(terms yield.Terms) float64 {
	volume := t.brings * math.Exp(t.level+t.noise*t.noise/2)
	worth := (1 - t.never) * t.cut * (t.outside*terms.Outside + (1-t.outside)*terms.Inside)
	minutes := (t.fixed + t.perMile*t.miles + t.m3*volume) * t.pace * math.Exp(t.paceNoise*t.paceNoise/2)
	return volume*worth - terms.Mile*t.miles - terms.Hour*minutes/60
}

func (w *world) net(p yield.Pickup) float64 {
	worth, err := yield.Value(p, w.prices)
	if err != nil {
		panic(err) // the generator made a pickup that cannot be
	}
	return worth.Net
}

// places lists the sources for Options.
func (w *world) places() []yield.Source {
	all := make([]yield.Source, len(w.sources))
	for i, t := range w.sources {
		all[i] = yield.Source{ID: t.id, Kind: t.kind, Miles: t.miles}
	}
	return all
}

// beta draws from the beta distribution as a ratio of gamma draws (Marsaglia
// and Tsang 2000).
func beta(r *rand.Rand, a, b float64) float64 {
	x, y := gamma(r, a), gamma(r, b)
	return min(max(x/(x+y), 1e-9), 1-1e-9)
}

func gamma(r *rand.Rand, shape float64) float64 {
	if shape < 1 {
		return gamma(r, shape+1) * math.Pow(r.Float64(), 1/shape)
	}
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := r.NormFloat64()
		v := 1 + c*x
		if v <= 0 {
			continue
		}
		v = v * v * v
		if math.Log(r.Float64()) < 0.5*x*x+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}

// sampleCRPS scores an outcome against draws from the truth, which it sorts.
func sampleCRPS(draws []float64, y float64) float64 {
	slices.Sort(draws)
	var away, apart, sum float64
	for i, x := range draws {
		away += math.Abs(x - y)
		apart += float64(i)*x - sum
		sum += x
	}
	n := float64(len(draws))
	return away/n - apart/(n*(n-1)) // unbiased in the second term
}
