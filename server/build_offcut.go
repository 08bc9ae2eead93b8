package server

import (
	"context"
	"fmt"
	"strconv"

	"skepwood/analytics/wood"
	"skepwood/analytics/yield"
	"skepwood/db"
)

// keptWords says what the plan's offcuts come to: pieces, volume, what they
// counted in the plan, and at the price of a board bought instead.
func (b *builder) keptWords(ctx context.Context, p *planPage) (string, error) {
	pieces, m3 := 0, 0.0
	for i := range p.Layouts {
		l := &p.Layouts[i]
		for _, o := range l.Offcuts {
			pieces++
			m3 += o.M2() * l.Thickness.Metres()
		}
	}
	if pieces == 0 {
		return "none of the least size", nil
	}
	words := fmt.Sprintf("%s, %s %s", plural(pieces, "piece", "pieces"), volumeText(p.Env, m3), volumeUnit(p.Env))
	if p.Plan.OffcutShare == 0 {
		return words + "; they counted nothing in this plan", nil
	}
	counted := float64(p.Doc.Cut.OffcutValue) / 1000
	words += fmt.Sprintf("; what is clear of them counts, at %s %%, as %s of finished parts", strconv.FormatFloat(p.Plan.OffcutShare, 'f', -1, 64), countedText(p.Env, counted))
	prices, err := b.store.Prices(ctx, p.Env.Currency)
	if err != nil {
		return "", err
	}
	if terms, noPrice := prices.On(p.Plan.ReceivedAt); noPrice == nil {
		words += fmt.Sprintf(", about %s %s by the price of a board bought instead", yield.FormatMinor(counted*cubicMetresPerBoardFoot*terms.Inside, terms.Currency), terms.Currency)
	}
	return words, nil
}

// countedText prints board feet that a plan counts, in the keeper's unit.
func countedText(env db.Env, boardFeet float64) string {
	if env.Length == wood.UnitMillimetre {
		boardFeet *= cubicMetresPerBoardFoot * 1000
	}
	return fmt.Sprintf("%.2f %s", boardFeet, volumeUnit(env))
}
