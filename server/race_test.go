package server_test

import (
	"context"
	"io"
	"net"
	"net/http"
	"net/url"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/db"
	"skepwood/server"
)

// atOnce posts the forms from as many people at the same moment and counts
// the answers by status.
func (b *bench) atOnce(path string, forms []url.Values) map[int]int {
	b.Helper()
	var mu sync.Mutex
	var all sync.WaitGroup
	start, count := make(chan struct{}), make(map[int]int)
	for _, form := range forms {
		all.Go(func() {
			<-start
			p := b.post(path, form)
			mu.Lock()
			defer mu.Unlock()
			count[p.status]++
		})
	}
	close(start)
	all.Wait()
	return count
}

// repeat returns n times the same form, each changed.
func repeat(n int, form url.Values, change func(int) []string) (out []url.Values) {
	for i := range n {
		out = append(out, with(form, change(i)...))
	}
	return out
}

func TestOneOfManyWritersWins(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	address := "/book/lot/" + w.lot.ID.String() + "/correct"
	places := []string{"loft", "shed", "yard", "cellar", "attic", "barn"}
	form := b.form(b.open(address), address)
	count := b.atOnce(address, repeat(len(places), form, func(i int) []string { return []string{"place", places[i], "why", "moved to the " + places[i]} }))
	require.Equal(t, map[int]int{http.StatusSeeOther: 1, http.StatusConflict: len(places) - 1}, count)
	history, err := b.store.HistoryOf(t.Context(), "lot", w.lot.ID)
	require.NoError(t, err)
	require.Len(t, history, 1)
	require.Equal(t, "moved to the "+valueOf(b.open(address), "place"), history[0].Why)
}

func TestFormSentAtOnceIsOneEntry(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	form := with(b.form(b.open("/pickups/new?source=Harbour+Tile"), "/pickups"), "lot-0-kind", "crate", "lot-0-finding-mark", "IPPC US-1234 HT", "action", "log")
	same := func(int) []string { return nil }
	require.Equal(t, map[int]int{http.StatusSeeOther: 6}, b.atOnce("/pickups", repeat(6, form, same)))
	require.Equal(t, 2, b.count(db.Pickups))
	require.Equal(t, 2, b.count(db.Lots))
	require.Equal(t, 2, b.count(db.Findings))

	lot := "/lots/" + w.lot.ID.String()
	boards := with(b.form(b.open(lot), lot+"/boards"), "thickness", "1", "width", "4", "length", "40", "boards", "3")
	require.Equal(t, map[int]int{http.StatusSeeOther: 6}, b.atOnce(lot+"/boards", repeat(6, boards, same)))
	require.Equal(t, 4, b.count(db.Boards))
}

// TestBoardsAddedAtOnceGetTheirOwnCodes sends different forms to one lot.
func TestBoardsAddedAtOnceGetTheirOwnCodes(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	lot := "/lots/" + w.lot.ID.String()
	var forms []url.Values
	for range 5 {
		forms = append(forms, with(b.form(b.open(lot), lot+"/boards"), "thickness", "1", "width", "4", "length", "40", "boards", "2"))
	}
	require.Equal(t, map[int]int{http.StatusSeeOther: 5}, b.atOnce(lot+"/boards", forms))
	require.Equal(t, 11, b.count(db.Boards))
}

// TestServeLetsRequestsFinish ends a server while it answers.
func TestServeLetsRequestsFinish(t *testing.T) {
	t.Parallel()
	begun, release := make(chan struct{}), make(chan struct{})
	srv := server.HTTPServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		close(begun)
		<-release
		_, _ = io.WriteString(w, "finished")
	}))
	for name, limit := range map[string]time.Duration{"headers": srv.ReadHeaderTimeout, "reading": srv.ReadTimeout, "writing": srv.WriteTimeout, "waiting": srv.IdleTimeout} {
		require.Positive(t, limit, name)
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(ctx, srv, func() error { return srv.Serve(listener) }) }()
	answer := make(chan string, 1)
	go func() {
		res, err := http.Get("http://" + listener.Addr().String())
		if err != nil {
			answer <- err.Error()
			return
		}
		defer func() { _ = res.Body.Close() }()
		body, _ := io.ReadAll(res.Body)
		answer <- string(body)
	}()
	<-begun
	stop()
	select {
	case err := <-ended:
		require.Fail(t, "ended during a request", "%v", err)
	default:
	}
	close(release)
	require.Equal(t, "finished", <-answer)
	require.NoError(t, <-ended)
	_, err = net.Dial("tcp", listener.Addr().String())
	require.Error(t, err, "nobody listens any more")
}

// TestServeSaysWhyItCannot ends at once where the address cannot be used.
func TestServeSaysWhyItCannot(t *testing.T) {
	t.Parallel()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	require.NoError(t, listener.Close())
	srv := server.HTTPServer(http.NotFoundHandler())
	require.Error(t, server.Serve(t.Context(), srv, func() error { return srv.Serve(listener) }))
}

// TestWrongOriginIsRefusedAtStart names an origin that is none.
func TestWrongOriginIsRefusedAtStart(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	_, err := server.New(t.Context(), server.Options{Store: b.store, TrustedOrigins: []string{"wood.example/path"}})
	require.ErrorContains(t, err, "wood.example/path")
}
