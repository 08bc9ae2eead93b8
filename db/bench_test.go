package db_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os/exec"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// fill puts lots × boards into the book through the importer, over ten
// sources, and returns the codes of the boards.
func (b *bench) fill(tb testing.TB, lots, boards int) []string {
	tb.Helper()
	var sources, pickups, lot, board strings.Builder
	sources.WriteString("name,kind\n")
	pickups.WriteString("source,day,distance,minutes\n")
	lot.WriteString("label,pickup,kind\n")
	board.WriteString("label,lot,thickness,width,length,species\n")
	for i := range 10 {
		fmt.Fprintf(&sources, "Place %d,kind %d\n", i, i%3)
		for d := range 20 {
			fmt.Fprintf(&pickups, "Place %d,%s,%d,60\n", i, testNow.AddDate(0, 0, -10*d-i).Format(time.DateOnly), 5+i)
		}
	}
	n := 0
	for i := range lots {
		day := testNow.AddDate(0, 0, -10*(i/10%20)-i%10).Format(time.DateOnly)
		fmt.Fprintf(&lot, "L%d,%s Place %d,crate\n", i, day, i%10)
		for range boards / lots {
			fmt.Fprintf(&board, "B%d,L%d,3/4,5 1/2,48,pine_lodgepole\n", n, i)
			n++
		}
	}
	report := b.read(tb, false, sheet("sources.csv", sources.String()), sheet("pickups.csv", pickups.String()), sheet("lots.csv", lot.String()), sheet("boards.csv", board.String()))
	require.Empty(tb, report.Faults)
	rows, err := b.store.Pool().Query(tb.Context(), "SELECT code FROM board ORDER BY code")
	require.NoError(tb, err)
	codes, err := pgx.CollectRows(rows, pgx.RowTo[string])
	require.NoError(tb, err)
	return codes
}

// readingsCSV writes n readings over the boards as a stream that is made while
// it is read, so that the file's size costs no memory.
func readingsCSV(codes []string, n int) io.ReadCloser {
	in, out := io.Pipe()
	go func() {
		var chunk bytes.Buffer
		chunk.WriteString("board,taken,raw,temperature\n")
		for i := range n {
			fmt.Fprintf(&chunk, "%s,%s,%.1f,18 C\n", codes[i%len(codes)], testNow.Add(-time.Duration(i)*time.Minute).Format(time.RFC3339), 9+float64(i%120)/10)
			if chunk.Len() > 1<<16 {
				if _, err := out.Write(chunk.Bytes()); err != nil {
					return
				}
				chunk.Reset()
			}
		}
		_, err := out.Write(chunk.Bytes())
		_ = out.CloseWithError(err)
	}()
	return in
}

// BenchmarkImportReadings imports 200,000 readings with validation against
// psql's \copy of the same finished rows into the same indexed table.
func BenchmarkImportReadings(tb *testing.B) {
	const n = 200_000
	psql, err := exec.LookPath("psql")
	if err != nil {
		tb.Skip("the baseline needs psql")
	}
	for range tb.N {
		b := setup(tb)
		codes := b.fill(tb, 100, 2000)
		peak := watchMemory()
		began := time.Now()
		report := b.read(tb, false, db.Sheet{Name: "readings.csv", Open: func() (io.ReadCloser, error) { return readingsCSV(codes, n), nil }})
		imported := time.Since(began)
		memory := peak()
		require.Empty(tb, report.Faults)
		require.Equal(tb, n, report.Sheets[0].Added)

		file := tb.TempDir() + "/readings.csv"
		run := func(sql string) time.Duration {
			began := time.Now()
			out, err := exec.Command(psql, b.url, "-q", "-v", "ON_ERROR_STOP=1", "-c", sql).CombinedOutput()
			require.NoError(tb, err, string(out))
			return time.Since(began)
		}
		run(`\copy reading TO '` + file + `' CSV`)
		owner := b.owner(tb)
		_, err := owner.Exec(context.Background(), "TRUNCATE reading")
		require.NoError(tb, err)
		copied := run(`\copy reading FROM '` + file + `' CSV`)

		tb.ReportMetric(copied.Seconds()/imported.Seconds(), "speed-against-copy")
		tb.ReportMetric(imported.Seconds(), "s-import")
		tb.ReportMetric(copied.Seconds(), "s-copy")
		tb.ReportMetric(float64(memory)/(1<<20), "MiB-heap-peak")
	}
}

// watchMemory samples the heap until the returned function is called, which
// gives the highest value seen above the start.
func watchMemory() func() uint64 {
	runtime.GC()
	var start runtime.MemStats
	runtime.ReadMemStats(&start)
	var high atomic.Uint64
	done, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		tick := time.NewTicker(20 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-done:
				return
			case <-tick.C:
				var now runtime.MemStats
				runtime.ReadMemStats(&now)
				if now.HeapAlloc > start.HeapAlloc {
					high.Store(max(high.Load(), now.HeapAlloc-start.HeapAlloc))
				}
			}
		}
	}()
	return func() uint64 { close(done); <-ended; return high.Load() }
}

// BenchmarkRanking compares the whole ranking with the bare aggregate over
// boards that it would otherwise rest on, at 100,000 boards.
func BenchmarkRanking(tb *testing.B) {
	b := setup(tb)
	b.fill(tb, 1000, 100_000)
	require.NoError(tb, b.store.EnsureFigures(tb.Context()))
	_, err := b.owner(tb).Exec(context.Background(), "VACUUM ANALYZE")
	require.NoError(tb, err)
	const bare = `SELECT p.source_id, count(*), sum(b.usable_m3), avg(b.usable_m3), stddev(b.usable_m3)
		FROM board b JOIN lot l ON l.id = b.lot_id JOIN pickup p ON p.id = l.pickup_id
		WHERE b.struck_at IS NULL AND l.struck_at IS NULL AND p.struck_at IS NULL GROUP BY p.source_id`
	tb.ResetTimer()
	var ours, sql time.Duration
	for range tb.N {
		began := time.Now()
		_, err := b.store.Ranking(tb.Context(), "USD")
		require.NoError(tb, err)
		ours += time.Since(began)
		began = time.Now()
		rows, err := b.store.Pool().Query(tb.Context(), bare)
		require.NoError(tb, err)
		rows.Close()
		require.NoError(tb, rows.Err())
		sql += time.Since(began)
	}
	tb.ReportMetric(ours.Seconds()/sql.Seconds(), "ratio-to-bare-aggregate")
	tb.ReportMetric(float64(ours.Milliseconds())/float64(tb.N), "ms-ranking")
	tb.ReportMetric(float64(sql.Milliseconds())/float64(tb.N), "ms-sql")
}

// BenchmarkRecomputeLots judges 100,000 lots through PostgreSQL and compares
// with a bare UPDATE of the same rows.
func BenchmarkRecomputeLots(tb *testing.B) {
	for range tb.N {
		b := setup(tb)
		b.fill(tb, 100_000, 100_000)
		owner := b.owner(tb)
		ctx := context.Background()
		_, err := owner.Exec(ctx, `INSERT INTO finding (id, lot_id, kind, value, seen_at, keeper_id)
			SELECT gen_random_uuid(), id, 'mark', 'IPPC US-1234 HT', now(), keeper_id FROM lot`)
		require.NoError(tb, err)
		began := time.Now()
		lots, err := b.store.Recompute(ctx, nil)
		require.NoError(tb, err)
		ours := time.Since(began)
		require.Equal(tb, 100_000, lots)
		began = time.Now()
		_, err = owner.Exec(ctx, "UPDATE lot SET rule_version = rule_version || 'x', verdict = 'hold'")
		require.NoError(tb, err)
		bare := time.Since(began)
		tb.ReportMetric(ours.Seconds()/bare.Seconds(), "ratio-to-bare-update")
		tb.ReportMetric(ours.Seconds(), "s-recompute")
		tb.ReportMetric(bare.Seconds(), "s-update")
	}
}
