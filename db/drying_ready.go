package db

import (
	"time"

	"skepwood/analytics/moisture"
)

// The demand on a stack: at most one board in ten may be too wet, shown with
// 90 %. Common practice, no source.
const (
	wetShare      = 0.1
	wetConfidence = 0.9
)

// maxReadyBoards bounds the boards of a stack that is asked whether it is
// ready: the probing plan's tables grow with them.
const maxReadyBoards = 2000

// StackReady is whether a stack may be built with, the probing plan that says
// how many of its boards must be read for that, and the readings that counted.
type StackReady struct {
	moisture.Readiness
	Plan moisture.Plan
	Obs  []moisture.Obs
}

// ReadyNow asks whether the stack may be built with. here are the boards that
// lie in it now; what a board read that was taken out of it does not count, nor
// a reading after now. Nothing is known, and never ready, of an empty stack and
// of one of more than 2000 boards. Page and plan both ask here.
func (d *DryingStack) ReadyNow(here []StockBoard, now time.Time) (out StackReady, known bool, err error) {
	if len(here) == 0 || len(here) > maxReadyBoards {
		return out, false, nil
	}
	if out.Plan, err = moisture.NewPlan(moisture.PlanInput{Boards: len(here), Share: wetShare, Confidence: wetConfidence}); err != nil {
		return out, false, err
	}
	in := make(map[string]bool, len(here))
	for i := range here {
		in[here[i].ID.String()] = true
	}
	for _, o := range d.Obs {
		if in[o.BoardID] && !o.At.After(now) {
			out.Obs = append(out.Obs, o)
		}
	}
	out.Readiness, err = moisture.Ready(moisture.ReadyInput{Target: d.Target, Obs: out.Obs, Boards: len(here), Probes: out.Plan.Shortest.Probes, Now: now})
	return out, err == nil, err
}
