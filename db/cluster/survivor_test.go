//go:build unix

package cluster

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// as makes a command run as the user of the cluster.
func as(id identity) func(*exec.Cmd) {
	return func(cmd *exec.Cmd) {
		cmd.Dir = "/"
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: credential(id)}
	}
}

// leavePIDFile writes what a server that died without cleaning up leaves.
func leavePIDFile(t *testing.T, cfg Config, pid string) {
	t.Helper()
	o, err := open(t.Context(), cfg, cfg.Dir)
	require.NoError(t, err)
	defer o.close()
	lines := []string{pid, filepath.Join(cfg.Dir, dataName), "1700000000", "5432", filepath.Join(cfg.Dir, socketsName), "", " 5432001 99999", "ready   ", ""}
	require.NoError(t, o.dir.replaceFile(pidFileName, []byte(strings.Join(lines, "\n"))))
	require.NoError(t, o.dir.replaceFile(socketsName+"/.s.PGSQL.5432.lock", []byte(strings.Join(lines, "\n"))))
	require.NoError(t, o.dir.replaceFile(socketsName+"/.s.PGSQL.5432", nil))
}

// The pid of a dead server may belong to a process of the same user by now:
// PostgreSQL alone would refuse to start, pg_ctl would signal the stranger.
func TestRecycledPID(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	id, err := chooseIdentity(cfg.Dir, "")
	require.NoError(t, err)
	stranger := exec.Command("sleep", "1000")
	as(id)(stranger)
	require.NoError(t, stranger.Start())
	dead := make(chan error, 1)
	go func() { dead <- stranger.Wait() }()
	defer func() { _ = stranger.Process.Kill() }()

	leavePIDFile(t, cfg, strconv.Itoa(stranger.Process.Pid))
	requireKept(t, start(t, cfg).URL("postgres"))
	select {
	case err := <-dead:
		t.Fatalf("the stranger was hit: %v", err)
	default:
	}
}

func TestLeftPIDFile(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	o, err := open(t.Context(), cfg, cfg.Dir)
	require.NoError(t, err)
	defer o.close()
	zombie := exec.Command("true")
	as(o.id)(zombie)
	require.NoError(t, zombie.Start()) // and not waited for
	defer func() { _ = zombie.Wait() }()
	const free = 4194000 // below pid_max of 64-bit Linux, and unlikely
	for name, test := range map[string]struct {
		left string
		want int // what PostgreSQL finds; 0 for no file
	}{
		"own pid":      {strconv.Itoa(os.Getpid()), os.Getpid()},
		"init":         {"1", os.Getpid()},
		"nobody's pid": {strconv.Itoa(free), free},
		"zombie":       {strconv.Itoa(zombie.Process.Pid), os.Getpid()},
		"negative":     {strconv.Itoa(-os.Getppid()), os.Getpid()},
		"empty":        {"", 0},
		"binary":       {"\x00\x00\x00", 0},
	} {
		require.NoError(t, o.dir.replaceFile(pidFileName, []byte(test.left+"\nrest\n")), name)
		require.NoError(t, o.settle(t.Context()), name)
		if test.want == 0 {
			require.NoFileExists(t, filepath.Join(cfg.Dir, pidFileName), name)
			continue
		}
		content, err := os.ReadFile(filepath.Join(cfg.Dir, pidFileName))
		require.NoError(t, err, name)
		require.Equal(t, fmt.Sprintf("%d\nrest\n", test.want), string(content), name)
	}
}

// The server of another data directory is a postgres of the same user, and
// still a stranger.
func TestOtherServerIsLeftAlone(t *testing.T) {
	t.Parallel()
	other := start(t, book(t))
	cfg := book(t)
	leavePIDFile(t, cfg, strconv.Itoa(other.PID()))
	c := start(t, cfg)
	requireKept(t, c.URL("postgres"))
	requireKept(t, other.URL("postgres"))
	require.NoError(t, other.Err())
}

// abandon starts a server that no program looks after, as the death of a
// program leaves one where nothing is sent to its children.
func abandon(t *testing.T, cfg Config) *exec.Cmd {
	t.Helper()
	bins := need(t)
	o, err := open(t.Context(), cfg, cfg.Dir)
	require.NoError(t, err)
	defer o.close()
	require.NoError(t, o.loadPassword(true))
	require.NoError(t, o.clearSockets())
	at, err := o.chooseAddress()
	require.NoError(t, err)
	args, err := o.serverArgs(at, o.reach())
	require.NoError(t, err)
	cmd := exec.Command(bins.program("postgres"), args...)
	as(o.id)(cmd)
	cmd.Env = childEnv(os.Environ())
	cmd.SysProcAttr.Setsid = true
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Signal(syscall.SIGCONT)
		_ = cmd.Process.Signal(syscall.SIGQUIT)
		_ = cmd.Wait()
	})
	eventually(t, "the abandoned server is ready", func() bool {
		pid, state, err := o.dir.readPIDFile()
		return err == nil && pid == cmd.Process.Pid && state == "ready"
	})
	return cmd
}

// A child of this program that has been forked and not yet become its own
// program holds a copy of every open file for a moment, that of the lock too.
func TestLockIsReleasedThoughAChildHoldsACopy(t *testing.T) {
	t.Parallel()
	cfg := Config{Dir: filepath.Join(openPlace(t), "d")}
	first, err := open(t.Context(), cfg, cfg.Dir)
	require.NoError(t, err)
	held, err := syscall.Dup(int(first.held.Fd()))
	require.NoError(t, err)
	defer func() { _ = syscall.Close(held) }()
	_, err = open(t.Context(), cfg, cfg.Dir)
	var used *InUseError
	require.ErrorAs(t, err, &used, "it is locked while it is open")
	first.close()
	second, err := open(t.Context(), cfg, cfg.Dir)
	require.NoError(t, err)
	second.close()
}

func TestSurvivorIsStopped(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	survivor := abandon(t, cfg)
	c := start(t, cfg)
	require.NotEqual(t, survivor.Process.Pid, c.PID())
	require.NoError(t, survivor.Wait(), "a fast shutdown ends with status 0")
	requireKept(t, c.URL("postgres"))
}

// A survivor in the middle of its shutdown is waited for.
func TestSurvivorIsWaitedFor(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	survivor := abandon(t, cfg)
	require.NoError(t, survivor.Process.Signal(syscall.SIGSTOP))
	time.AfterFunc(300*time.Millisecond, func() { _ = survivor.Process.Signal(syscall.SIGCONT) })
	c := start(t, cfg)
	requireKept(t, c.URL("postgres"))
	require.NoError(t, survivor.Wait())
}

// A second server is never started beside one that does not stop.
func TestSurvivorThatStays(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	survivor := abandon(t, cfg)
	require.NoError(t, survivor.Process.Signal(syscall.SIGSTOP))
	o, err := open(t.Context(), cfg, cfg.Dir)
	require.NoError(t, err)
	defer o.close()
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	err = o.settle(ctx)
	var used *InUseError
	require.ErrorAs(t, err, &used)
	require.True(t, used.Server)
	require.ErrorContains(t, err, fmt.Sprintf("in use by a PostgreSQL server (process %d)", survivor.Process.Pid))
	require.FileExists(t, filepath.Join(cfg.Dir, pidFileName))
}

func TestParsePIDFile(t *testing.T) {
	t.Parallel()
	pid, state := parsePIDFile("123\n/data\n17\n5432\n/sock\n\n  543 1\nready   \n")
	require.Equal(t, 123, pid)
	require.Equal(t, "ready", state)
	pid, state = parsePIDFile("123\n/data\n")
	require.Equal(t, 123, pid)
	require.Empty(t, state)
	for content, want := range map[string]int{
		"": 0, "\n": 0, "-12\n": 12, "0\n": 0, "99999999999999999999\n": 0, "-99999999999999999999": 0, "12 13\n": 0, "\x00": 0,
	} {
		pid, _ := parsePIDFile(content)
		require.Equal(t, want, pid, "%q", content)
	}
}

func FuzzParsePIDFile(f *testing.F) {
	for _, seed := range []string{"", "1", "-7\n", "99999999999999999999\n", "5\n\n\n\n\n\n\nready", "\x00\xff"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, content string) {
		pid, _ := parsePIDFile(content)
		require.GreaterOrEqual(t, pid, 0)
		require.LessOrEqual(t, pid, 1<<31)
	})
}
