//go:build linux

package cluster

import (
	"context"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// No server outlives its program, though nobody is left to ask it to stop.
func TestServerFollowsProgram(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	p := running(t, cfg)
	require.NoError(t, p.cmd.Process.Kill())
	requireNoProcess(t, cfg.Dir)
	log, err := os.ReadFile(filepath.Join(cfg.Dir, logName))
	require.NoError(t, err)
	require.Contains(t, string(log), "received fast shutdown request")
}

// A backend that is busy does not notice the death of its server, and holds
// the shared memory of the cluster.
func TestBusyOrphan(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	p := running(t, cfg)
	write(t, p.URL)
	conn, err := pgx.Connect(t.Context(), p.URL)
	require.NoError(t, err)
	go func() { _, _ = conn.Exec(context.Background(), "DO 'BEGIN LOOP PERFORM 1; END LOOP; END'") }()
	eventually(t, "the loop runs", func() bool {
		return ask(t, p.URL, "SELECT count(*)::text FROM pg_stat_activity WHERE state = 'active' AND query LIKE 'DO%'") == "1"
	})
	require.NoError(t, syscall.Kill(p.Server, syscall.SIGKILL))
	require.Equal(t, 3, p.exit(t))
	requireWritten(t, cfg)
}

func TestKilledDuringInit(t *testing.T) {
	t.Parallel()
	need(t)
	cfg := config(t, filepath.Join(openPlace(t), "d"))
	p := spawn(t, cfg)
	eventually(t, "initdb has begun", func() bool {
		_, err := os.Stat(filepath.Join(cfg.Dir, freshName, "PG_VERSION"))
		return err == nil
	})
	require.NoError(t, p.cmd.Process.Kill())
	requireNoProcess(t, cfg.Dir)
	require.NoDirExists(t, filepath.Join(cfg.Dir, dataName))
	start(t, cfg)
	require.NoDirExists(t, filepath.Join(cfg.Dir, freshName))
}
