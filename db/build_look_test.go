package db_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// BenchmarkBuildStock looks through a rack of 100,000 boards of a hundred
// thicknesses for parts of 1, 10 and 60 thicknesses. The ratio is to a bare
// query that reads what decides about a board of every board on the rack.
func BenchmarkBuildStock(tb *testing.B) {
	b := setup(tb)
	b.fill(tb, 100, 100_000)
	_, err := b.owner(tb).Exec(context.Background(), `UPDATE board SET verdict = CASE WHEN code LIKE '%7' THEN 'outside' ELSE 'inside' END, metal = 'clean', moisture_pct = 11,
		thickness_nm = 12700000 + 500000 * ((hashtext(code) & 1023) % 100), width_nm = 50000000 + 100000 * (hashtext('w' || code) & 1023)`)
	require.NoError(tb, err)
	_, err = b.owner(tb).Exec(context.Background(), "VACUUM ANALYZE")
	require.NoError(tb, err)
	asked, faults := db.ParsePlan(rules(), b.env)
	require.Empty(tb, faults)
	bare := func() time.Duration {
		began := time.Now()
		rows, err := b.store.Pool().Query(tb.Context(), `SELECT b.id, b.code, b.thickness_nm, b.width_nm, b.length_nm, b.verdict, b.ownership_stop
			FROM board b JOIN lot l ON l.id = b.lot_id JOIN pickup p ON p.id = l.pickup_id WHERE b.struck_at IS NULL AND b.state = 'rack'`)
		require.NoError(tb, err)
		for rows.Next() {
			continue
		}
		require.NoError(tb, rows.Err())
		return time.Since(began)
	}
	for name, n := range map[string]int{"thicknesses-1": 1, "thicknesses-10": 10, "thicknesses-60": 60} {
		var parts []db.PlanPart
		for i := range n {
			size := grade.Size{Thickness: 13*wood.Millimetre + wood.Length(i)*700*wood.Micrometre, Width: wood.Length(60+i) * wood.Millimetre, Length: 400 * wood.Millimetre}
			parts = append(parts, db.PlanPart{Kit: "ours", Part: "p", Size: size, Zone: []string{"inside", "outside"}[i%2]})
		}
		tb.Run(name, func(tb *testing.B) {
			base := min(bare(), bare(), bare())
			tb.ResetTimer()
			for range tb.N {
				stock, err := b.store.BuildStock(tb.Context(), &asked, parts)
				require.NoError(tb, err)
				require.Equal(tb, 100_000, stock.Rack)
			}
			took := tb.Elapsed().Seconds() / float64(tb.N)
			tb.ReportMetric(1000*took, "ms")
			tb.ReportMetric(took/base.Seconds(), "ratio-to-bare-query")
		})
	}
}
