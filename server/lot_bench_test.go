package server_test

import (
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	lumber "skepwood/analytics/wood"
	"skepwood/db"
)

// lotOf enters a lot with n boards of three sizes.
func (b *bench) lotOf(n int) (id uuid.UUID, code string) {
	b.Helper()
	w := b.withWood()
	for i := range 3 {
		like := db.Board{Base: db.Base{KeeperID: b.keeper.ID}, Lot: db.Ref{ID: w.lot.ID}, Thickness: lumber.Inch, Width: lumber.Length(4+i) * lumber.Inch, Length: 40 * lumber.Inch, State: "rack", Metal: "not_swept"}
		for left := n / 3; left > 0; left -= min(left, 500) {
			_, err := b.store.AddBoards(b.Context(), like, min(left, 500))
			require.NoError(b, err)
		}
	}
	return w.lot.ID, w.lot.Values["code"]
}

// BenchmarkLotPage answers the page of a lot with 10,000 boards; the ratio is
// to that of a lot with 30.
func BenchmarkLotPage(tb *testing.B) {
	times := map[int]time.Duration{}
	sizes := map[int]int{}
	for _, n := range []int{30, 9999} {
		b := setup(tb, options{})
		id, _ := b.lotOf(n)
		for range tb.N + 1 { // the first is not counted
			began := time.Now()
			answer := httptest.NewRecorder()
			b.server.Config.Handler.ServeHTTP(answer, httptest.NewRequest(http.MethodGet, "http://127.0.0.1/lots/"+id.String(), nil))
			require.Equal(tb, http.StatusOK, answer.Code)
			if sizes[n] > 0 {
				times[n] += time.Since(began)
			}
			sizes[n] = answer.Body.Len()
		}
	}
	tb.ReportMetric(times[9999].Seconds()*1000/float64(tb.N), "ms/page")
	tb.ReportMetric(float64(sizes[9999])/1024, "KiB")
	tb.ReportMetric(times[9999].Seconds()/times[30].Seconds(), "ratio-to-30-boards")
}
