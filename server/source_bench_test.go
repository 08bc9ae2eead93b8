package server_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"os"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// boardsAsked is the size of the book of BenchmarkSourcesPage: 100,000 boards, or
// what SKEPWOOD_BOARDS says.
func boardsAsked(tb testing.TB) int {
	text := os.Getenv("SKEPWOOD_BOARDS")
	if text == "" {
		return 100_000
	}
	n, err := strconv.Atoi(text)
	require.NoError(tb, err, "SKEPWOOD_BOARDS")
	return n
}

// largeBook are statements that write $1 boards: five to a lot, four lots to a
// pickup, ten pickups to a source and year. Sums are made from the boards below them
// by plain aggregates, apart from the code that keeps them.
var largeBook = []string{
	`INSERT INTO source (id, name, kind, distance_m, keeper_id, received_at)
		SELECT md5('s' || i)::uuid, 'Place ' || i, 'kind ' || i % 4, 5000 + 300 * i, $2, now() FROM generate_series(1, greatest(1, $1 / 10000)) i`,
	`INSERT INTO pickup (id, source_id, day, visit, distance_m, minutes, currency, empty, keeper_id, received_at)
		SELECT md5('p' || i)::uuid, md5('s' || 1 + i % greatest(1, $1 / 10000))::uuid, date '2026-03-01' - i / greatest(1, $1 / 10000) % 500,
			1 + i / greatest(1, $1 / 10000) / 500, 5000 + i % 70 * 1000, 60 + i % 50, 'USD', i % 11 = 0, $2, now() FROM generate_series(1, $1 / 20) i`,
	`INSERT INTO lot (id, pickup_id, code, kind, verdict, keeper_id, received_at)
		SELECT md5('l' || i)::uuid, md5('p' || 1 + i / 4)::uuid, translate(lpad(to_hex(i), 8, '0'), '01abcdef', 'ZYABCDEF'), 'crate',
			(ARRAY['inside', 'inside', 'outside', 'hold', 'never'])[1 + i % 5], $2, now() FROM generate_series(0, $1 / 5 - 1) i WHERE (1 + i / 4) % 11 > 0`,
	`INSERT INTO board (id, lot_id, code, thickness_nm, width_nm, length_nm, verdict, gross_m3, usable_m3, keeper_id, received_at)
		SELECT md5('b' || i || '.' || n)::uuid, l.id, l.code || '-' || n, 19050000, 139700000, 1219200000, l.verdict, 0.003 + 0.0001 * (i % 17), 0.0015 + 0.00005 * (i % 23), $2, now()
		FROM generate_series(0, $1 / 5 - 1) i JOIN lot l ON l.id = md5('l' || i)::uuid, generate_series(1, 5) n`,
	`UPDATE lot l SET boards = s.n, gross_inside_m3 = s.gi, gross_outside_m3 = s.go, gross_hold_m3 = s.gh, gross_never_m3 = s.gn,
			usable_inside_m3 = s.ui, usable_outside_m3 = s.uo, usable_hold_m3 = s.uh
		FROM (SELECT lot_id, count(*) n,
				coalesce(sum(gross_m3) FILTER (WHERE verdict = 'inside'), 0) gi, coalesce(sum(gross_m3) FILTER (WHERE verdict = 'outside'), 0) go,
				coalesce(sum(gross_m3) FILTER (WHERE verdict = 'hold'), 0) gh, coalesce(sum(gross_m3) FILTER (WHERE verdict = 'never'), 0) gn,
				coalesce(sum(usable_m3) FILTER (WHERE verdict = 'inside'), 0) ui, coalesce(sum(usable_m3) FILTER (WHERE verdict = 'outside'), 0) uo,
				coalesce(sum(usable_m3) FILTER (WHERE verdict = 'hold'), 0) uh
			FROM board GROUP BY lot_id) s WHERE s.lot_id = l.id`,
	`UPDATE pickup p SET lots = s.lots, boards = s.boards, gross_inside_m3 = s.gi, gross_outside_m3 = s.go, gross_hold_m3 = s.gh, gross_never_m3 = s.gn,
			usable_inside_m3 = s.ui, usable_outside_m3 = s.uo, usable_hold_m3 = s.uh
		FROM (SELECT pickup_id, count(*) lots, sum(boards) boards, sum(gross_inside_m3) gi, sum(gross_outside_m3) go, sum(gross_hold_m3) gh, sum(gross_never_m3) gn,
				sum(usable_inside_m3) ui, sum(usable_outside_m3) uo, sum(usable_hold_m3) uh FROM lot GROUP BY pickup_id) s WHERE s.pickup_id = p.id`,
}

// pageSQL is what the Sources page reads, as bare statements.
var pageSQL = []string{
	"SELECT * FROM keeper",
	"SELECT * FROM source WHERE struck_at IS NULL ORDER BY lower(name), id",
	`SELECT p.id, p.source_id, p.day, p.visit, p.distance_m, p.minutes, p.cost_minor, p.currency, p.empty, p.lots, p.boards, p.shop_minutes, p.estimated, p.unknown,
		p.gross_inside_m3, p.gross_outside_m3, p.gross_hold_m3, p.gross_never_m3, p.gross_stopped_m3, p.gross_lost_m3,
		p.usable_inside_m3, p.usable_outside_m3, p.usable_hold_m3
		FROM pickup p JOIN source s ON s.id = p.source_id WHERE p.struck_at IS NULL AND s.struck_at IS NULL ORDER BY p.day, p.visit, p.id`,
	"SELECT * FROM setting WHERE struck_at IS NULL ORDER BY name, valid_from, id",
}

// fillLarge writes the book and lets PostgreSQL know its size.
func (b *bench) fillLarge(boards int) {
	b.Helper()
	ctx := context.Background()
	conn, err := b.store.Pool().Acquire(ctx)
	require.NoError(b, err)
	defer conn.Release()
	for _, sql := range largeBook {
		var args = []any{boards, b.keeper.ID}
		if sql[:6] == "UPDATE" {
			args = nil
		}
		_, err := conn.Exec(ctx, sql, args...)
		require.NoError(b, err, sql)
	}
	_, err = conn.Exec(ctx, "RESET ROLE")
	require.NoError(b, err)
	_, err = conn.Exec(ctx, "VACUUM ANALYZE")
	require.NoError(b, err)
	_, err = conn.Exec(ctx, "SET ROLE skepwood_app")
	require.NoError(b, err)
	require.NoError(b, b.store.EnsureFigures(ctx))
}

// BenchmarkSourcesPage answers the Sources page of a large book and compares
// it with the bare statements that it reads, and with the aggregate over all boards
// that it would need without the sums kept beside every pickup.
func BenchmarkSourcesPage(tb *testing.B) {
	boards := boardsAsked(tb)
	b := setup(tb, options{})
	b.fillLarge(boards)
	read := func(sql string) (n int) {
		rows, err := b.store.Pool().Query(tb.Context(), sql)
		require.NoError(tb, err)
		for rows.Next() {
			_, err := rows.Values()
			require.NoError(tb, err)
			n++
		}
		require.NoError(tb, rows.Err())
		return n
	}
	const aggregate = `SELECT p.source_id, p.id, sum(b.usable_m3) FILTER (WHERE b.verdict = 'inside'), sum(b.usable_m3) FILTER (WHERE b.verdict = 'outside'), sum(b.gross_m3)
		FROM pickup p LEFT JOIN lot l ON l.pickup_id = p.id AND l.struck_at IS NULL LEFT JOIN board b ON b.lot_id = l.id AND b.struck_at IS NULL
		WHERE p.struck_at IS NULL GROUP BY p.source_id, p.id`
	var page, plain, whole time.Duration
	tb.ResetTimer()
	for range tb.N {
		began := time.Now()
		for _, sql := range pageSQL {
			read(sql)
		}
		plain += time.Since(began)
		began = time.Now()
		answer := httptest.NewRecorder()
		b.server.Config.Handler.ServeHTTP(answer, httptest.NewRequest(http.MethodGet, "http://127.0.0.1/sources", nil))
		page += time.Since(began)
		require.Equal(tb, http.StatusOK, answer.Code)
		require.NotContains(tb, answer.Body.String(), "cannot be ranked")
		require.Contains(tb, answer.Body.String(), `id="next"`, "every source has its outlook")
		began = time.Now()
		read(aggregate)
		whole += time.Since(began)
	}
	tb.StopTimer()
	tb.ReportMetric(page.Seconds()*1000/float64(tb.N), "ms/page")
	tb.ReportMetric(plain.Seconds()*1000/float64(tb.N), "ms/sql")
	tb.ReportMetric(page.Seconds()/plain.Seconds(), "ratio-to-its-sql")
	tb.ReportMetric(page.Seconds()/whole.Seconds(), "ratio-to-aggregate-over-boards")
	tb.ReportMetric(float64(read("SELECT id FROM pickup")), "pickups")
}
