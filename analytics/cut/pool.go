package cut

import (
	"sync"
	"sync/atomic"
)

// answer is the best pattern for a kind at some gains.
type answer struct {
	gain float64
	bits []bit
}

// pricePool prices all kinds of a problem on several goroutines.
type pricePool struct {
	p       *problem
	e       engine
	workers []pricer
	stop    func() bool
}

// newPricePool makes the workers.
func newPricePool(p *problem, e engine, workers int, stop func() bool) *pricePool {
	pool := &pricePool{p: p, e: e, stop: stop}
	for range workers {
		pool.workers = append(pool.workers, e.worker())
	}
	return pool
}

// all returns the best pattern of every kind; false when stopped on the way.
func (pool *pricePool) all(gain []float64) ([]answer, bool) {
	pool.e.prepare(gain)
	if pool.stop() {
		return nil, false
	}
	answers := make([]answer, len(pool.p.kinds))
	var next atomic.Int64
	var wait sync.WaitGroup
	var cut atomic.Bool
	for _, w := range pool.workers {
		wait.Go(func() {
			for {
				k := int(next.Add(1)) - 1
				if k >= len(answers) {
					return
				}
				if pool.stop() {
					cut.Store(true)
					return
				}
				if pool.p.kinds[k].count == 0 {
					continue
				}
				answers[k].gain, answers[k].bits = w.best(k)
				if pool.stop() {
					cut.Store(true) // the last answer may be unfinished
				}
			}
		})
	}
	wait.Wait()
	return answers, !cut.Load()
}
