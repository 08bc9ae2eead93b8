package browsertest

import (
	"context"
	"fmt"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// Spot is a place on an element: shares of its width from the left and of its
// height from the top, 0 to 1.
type Spot struct{ X, Y float64 }

// Touch puts a finger on an element at the first spot, moves it over the
// others and lifts it, and waits for the page that this leads to. The element
// is brought to the middle of the screen first.
func (tab *Tab) Touch(selector string, spots ...Spot) {
	tab.t.Helper()
	box := Eval[[]float64](tab, fmt.Sprintf(`(() => {
		const e = document.querySelector(%s);
		e.scrollIntoView({block: "center", behavior: "instant"});
		const r = e.getBoundingClientRect();
		return [r.left, r.top, r.width, r.height];
	})()`, quoted(selector)))
	touch := func(ctx context.Context, target *chromedp.Target, kind input.DispatchTouchEventType, at ...Spot) error {
		p := input.DispatchTouchEventParams{Type: kind, TouchPoints: []*input.TouchPoint{}}
		for _, s := range at {
			p.TouchPoints = append(p.TouchPoints, &input.TouchPoint{X: box[0] + s.X*box[2], Y: box[1] + s.Y*box[3]})
		}
		_, err := cdp.Call(ctx, target, input.DispatchTouchEvent, p)
		return err
	}
	tab.leave("touch "+selector, chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		for i, s := range spots {
			kind := input.DispatchTouchEventTypeTouchMove
			if i == 0 {
				kind = input.DispatchTouchEventTypeTouchStart
			}
			if err := touch(ctx, target, kind, s); err != nil {
				return err
			}
		}
		return touch(ctx, target, input.DispatchTouchEventTypeTouchEnd)
	}))
}
