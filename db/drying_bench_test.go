package db_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkDrying compares the answer behind the Drying page, for 200 stacks
// with 5,000 readings, with reading the same rows alone.
func BenchmarkDrying(b *testing.B) {
	const stacks, readings = 200, 5000
	book := setup(b)
	book.fill(b, 10, 10*stacks/10)
	var stack, board, reading strings.Builder
	stack.WriteString("name,place,stickered,taken_down,air_temperature,air_humidity\n")
	board.WriteString("label,lot,thickness,width,length,species,stack\n")
	reading.WriteString("board,taken,raw,temperature\n")
	for i := range stacks {
		began := testNow.AddDate(0, 0, -120)
		down := ""
		if i%2 == 1 {
			down = testNow.AddDate(0, 0, -10).Format(time.DateOnly)
		}
		fmt.Fprintf(&stack, "pile %d,place %d,%s,%s,15 C,55\n", i, i%5, began.Format(time.DateOnly), down)
		fmt.Fprintf(&board, "P%d,L%d,3/4,5 1/2,48,pine_lodgepole,pile %d\n", i, i%10, i)
		for n := range readings / stacks {
			day := 1 + n*4
			percent := 10 + 18*math.Exp(-0.02*(1+0.3*float64(i%3))*float64(day)) + 0.3*math.Sin(float64(i*31+n*17))
			fmt.Fprintf(&reading, "P%d,%s,%.1f,15 C\n", i, began.AddDate(0, 0, day).Format(time.DateOnly)+"T10:00:00Z", percent)
		}
	}
	report := book.read(b, false, sheet("stacks.csv", stack.String()), sheet("boards.csv", board.String()), sheet("readings.csv", reading.String()))
	require.Zero(b, report.FaultCount)

	alone := func() {
		for _, sql := range []string{"SELECT * FROM stack t ORDER BY stickered DESC, id", "SELECT stack_id, species, count(*), sum(thickness_nm) FROM board WHERE stack_id IS NOT NULL GROUP BY 1, 2",
			"SELECT b.stack_id, r.* FROM board b JOIN reading r ON r.board_id = b.id WHERE b.stack_id IS NOT NULL ORDER BY r.taken_at, r.id"} {
			rows, err := book.store.Pool().Query(b.Context(), sql)
			require.NoError(b, err)
			for rows.Next() {
				_, err := rows.Values()
				require.NoError(b, err)
			}
			require.NoError(b, rows.Err())
		}
	}
	var page, plain time.Duration
	b.ResetTimer()
	for range b.N {
		began := time.Now()
		alone()
		plain += time.Since(began)
		began = time.Now()
		all, err := book.store.Drying(b.Context())
		require.NoError(b, err)
		require.Len(b, all, stacks)
		page += time.Since(began)
	}
	b.ReportMetric(float64(page.Milliseconds())/float64(b.N), "ms/page")
	b.ReportMetric(float64(plain.Microseconds())/1000/float64(b.N), "ms/sql")
	b.ReportMetric(float64(page)/float64(plain), "ratio-to-its-sql")
}
