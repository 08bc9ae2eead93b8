//go:build linux

package cluster

import (
	"context"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// needRoot keeps a test to root, who alone can become somebody else. The
// rest of the tests show that an ordinary user needs none of it.
func needRoot(t *testing.T) {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("only root can change to another user")
	}
}

// userOf returns the user that a process runs as.
func userOf(t *testing.T, pid int) string {
	t.Helper()
	info, err := os.Stat("/proc/" + strconv.Itoa(pid))
	require.NoError(t, err)
	uid, _ := owner(info)
	return userName(uid)
}

func TestSeenFromOutside(t *testing.T) {
	t.Parallel()
	c := start(t, book(t))
	// Root in a container may often not look closer at the processes of
	// others than this.
	proc := func(pid int) string { return "/proc/" + strconv.Itoa(pid) }
	require.Equal(t, survivor, c.fateByArguments(proc(c.PID())))
	pid, err := strconv.Atoi(ask(t, c.URL("postgres"), "SELECT pid::text FROM pg_stat_activity WHERE backend_type = 'checkpointer'"))
	require.NoError(t, err)
	require.Equal(t, survivor, c.fateByArguments(proc(pid)), "a process of the server")
	require.Equal(t, stranger, c.fateByArguments(proc(os.Getpid())))
	require.Equal(t, gone, c.fateByArguments("/proc/4194000"))
	other := &opening{dir: &folder{path: "/other"}}
	require.Equal(t, stranger, other.fateByArguments(proc(c.PID())), "the server of another directory")
	require.Equal(t, stranger, other.fateByArguments(proc(pid)))

	if os.Geteuid() != 0 {
		require.Equal(t, userName(os.Geteuid()), userOf(t, c.PID()))
		return
	}
	require.Contains(t, []string{"postgres", "nobody"}, userOf(t, c.PID()))
	status, err := os.ReadFile(proc(c.PID()) + "/status")
	require.NoError(t, err)
	require.Regexp(t, `(?m)^Groups:\s*$`, string(status), "no group of root's is kept")
}

func TestRunAs(t *testing.T) {
	t.Parallel()
	needRoot(t)
	need(t)
	t.Run("nobody", func(t *testing.T) {
		t.Parallel()
		cfg := book(t)
		require.NoError(t, os.Chown(filepath.Join(cfg.Dir, dataName), 0, 0), "as after a copy back from a backup")
		cfg.RunAs = "nobody"
		c := start(t, cfg)
		require.Equal(t, "nobody", userOf(t, c.PID()))
		require.NoError(t, c.Stop(context.Background()))
		id, err := chooseIdentity(cfg.Dir, "")
		require.NoError(t, err)
		require.Equal(t, "nobody", id.name, "the owner of the cluster goes on")
	})
	t.Run("owner of the directory", func(t *testing.T) {
		t.Parallel()
		cfg := config(t, openPlace(t))
		nobody, err := lookupIdentity("nobody")
		require.NoError(t, err)
		require.NoError(t, os.Chown(cfg.Dir, nobody.uid, nobody.gid))
		id, err := chooseIdentity(cfg.Dir, "")
		require.NoError(t, err)
		require.Equal(t, nobody, id)
	})
	for name, message := range map[string]string{"root": "which is root", "no-such-user": "no-such-user"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			cfg := config(t, filepath.Join(openPlace(t), "d"))
			cfg.RunAs = name
			_, err := Start(t.Context(), cfg)
			require.ErrorContains(t, err, message)
			require.NoDirExists(t, cfg.Dir)
		})
	}
}

func TestOwner(t *testing.T) {
	t.Parallel()
	needRoot(t)
	t.Run("another user", func(t *testing.T) {
		t.Parallel()
		cfg := book(t)
		cfg.RunAs = "nobody"
		before := digest(t, cfg)
		_, err := Start(t.Context(), cfg)
		var other *FolderOwnerError
		require.ErrorAs(t, err, &other)
		require.ErrorContains(t, err, "belongs to the user postgres, but PostgreSQL would run as nobody")
		require.Equal(t, before, digest(t, cfg))
	})
	t.Run("root, after a copy back", func(t *testing.T) {
		t.Parallel()
		cfg := book(t)
		out, err := exec.Command("chown", "-R", "0:0", cfg.Dir).CombinedOutput()
		require.NoError(t, err, string(out))
		c := start(t, cfg)
		requireKept(t, c.URL("postgres"))
		require.NotEqual(t, "root", userOf(t, c.PID()))
	})
}

// A book made by root can be opened by the user who runs it, without root.
func TestLaterWithoutRoot(t *testing.T) {
	t.Parallel()
	needRoot(t)
	cfg := book(t)
	c := start(t, cfg)
	id := c.id
	require.NoError(t, c.Stop(context.Background()))
	entries, err := os.ReadDir(cfg.Dir)
	require.NoError(t, err)
	for _, entry := range entries {
		info, err := entry.Info()
		require.NoError(t, err)
		uid, _ := owner(info)
		require.Equal(t, id.uid, uid, entry.Name())
	}

	program := filepath.Join(filepath.Dir(cfg.Dir), "program") // the folder of the test binary is closed
	copyFile(t, os.Args[0], program)
	p := running(t, cfg, func(cmd *exec.Cmd) { cmd.Path = program }, as(id))
	requireKept(t, p.URL)
	require.Equal(t, id.name, userOf(t, p.Server))
	require.NoError(t, p.cmd.Process.Signal(syscall.SIGTERM))
	require.Equal(t, 0, p.exit(t))
}

func copyFile(t *testing.T, from, to string) {
	t.Helper()
	source, err := os.Open(from)
	require.NoError(t, err)
	defer source.Close()
	target, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE, 0o755)
	require.NoError(t, err)
	_, err = io.Copy(target, source)
	require.NoError(t, err)
	require.NoError(t, target.Close())
}

// The home of root is closed to the user that the server runs as: the
// working directory and HOME may lie there, and so may the book itself.
func TestClosedHome(t *testing.T) {
	t.Parallel()
	needRoot(t)
	need(t)
	home := closedPlace(t)
	in := func(cmd *exec.Cmd) {
		cmd.Dir = home
		cmd.Env = append(cmd.Env, "HOME="+home, "TMPDIR="+home)
	}
	t.Run("book at home", func(t *testing.T) {
		t.Parallel()
		cfg := config(t, filepath.Join(home, "book"))
		p := running(t, cfg, in)
		tell(t, p.URL, "CREATE TABLE kept (word text); INSERT INTO kept VALUES ('kept')")
		require.NoError(t, p.cmd.Process.Kill())
		c := start(t, cfg)
		requireKept(t, c.URL("postgres"))
		require.Equal(t, "postgres", userOf(t, c.PID()))
		require.True(t, c.closed)
		require.NoError(t, syscall.Kill(c.PID(), syscall.SIGKILL))
		<-c.Done()
		require.ErrorContains(t, c.Err(), "killed")
		require.NoError(t, c.Stop(context.Background()))
		requireKept(t, start(t, cfg).URL("postgres"))
		info, err := os.Stat(home)
		require.NoError(t, err)
		require.EqualValues(t, 0o700, info.Mode().Perm(), "the home stays closed")
	})
	t.Run("survivor at home", func(t *testing.T) {
		t.Parallel()
		cfg := bookIn(t, closedPlace(t))
		p := running(t, cfg)
		require.NoError(t, syscall.Kill(p.Server, syscall.SIGSTOP))
		require.NoError(t, p.cmd.Process.Kill())
		_ = p.cmd.Wait()
		o, err := open(t.Context(), cfg, cfg.Dir)
		require.NoError(t, err)
		require.Equal(t, survivor, o.fateOf(p.Server))
		require.Equal(t, survivor, o.fateByArguments("/proc/"+strconv.Itoa(p.Server)))
		o.close()
		require.NoError(t, syscall.Kill(p.Server, syscall.SIGCONT))
		requireKept(t, start(t, cfg).URL("postgres"))
	})
}

// There is no way around a folder that closes the binaries off.
func TestClosedBinaries(t *testing.T) {
	t.Parallel()
	needRoot(t)
	bins := need(t)
	home := closedPlace(t)
	dir := filepath.Join(home, "pg", "bin")
	require.NoError(t, os.MkdirAll(dir, 0o755))
	for _, program := range []string{"initdb", "postgres"} {
		script := "#!/bin/sh\nexec " + bins.program(program) + " \"$@\"\n"
		require.NoError(t, os.WriteFile(filepath.Join(dir, program), []byte(script), 0o755))
	}
	cfg := config(t, filepath.Join(openPlace(t), "d"))
	cfg.BinDir = dir
	_, err := Start(t.Context(), cfg)
	var closed *ClosedFolderError
	require.ErrorAs(t, err, &closed)
	require.Equal(t, home, closed.Folder)
	require.ErrorContains(t, err, "mode 0700")
	require.NoDirExists(t, filepath.Join(cfg.Dir, dataName))
}

// An ordinary user owns the directory, the program is root: what lies there
// must not lead root elsewhere.
func TestLinksDoNotLeadRootAway(t *testing.T) {
	t.Parallel()
	needRoot(t)
	for _, name := range []string{lockName, logName, passwordName, socketsName} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			cfg := book(t)
			require.NoError(t, os.RemoveAll(filepath.Join(cfg.Dir, name)))
			target := filepath.Join(openPlace(t), "target")
			if name == socketsName {
				require.NoError(t, os.Mkdir(target, 0o755))
			} else {
				require.NoError(t, os.WriteFile(target, []byte("secret\n"), 0o644))
			}
			require.NoError(t, os.Symlink(target, filepath.Join(cfg.Dir, name)))
			_, err := Start(t.Context(), cfg)
			require.ErrorContains(t, err, "escapes")
			info, err := os.Stat(target)
			require.NoError(t, err)
			uid, _ := owner(info)
			require.Zero(t, uid, "the target was given away")
			if !info.IsDir() {
				content, err := os.ReadFile(target)
				require.NoError(t, err)
				require.Equal(t, "secret\n", string(content))
			}
		})
	}
}

func TestIsPostgres(t *testing.T) {
	t.Parallel()
	for path, want := range map[string]bool{
		"/usr/lib/postgresql/15/bin/postgres":           true,
		"/usr/lib/postgresql/15/bin/postgres (deleted)": true,
		"/usr/bin/postmaster":                           true,
		"/usr/bin/postgres_exporter":                    false,
		"/home/postgres/bin/sleep":                      false,
		"":                                              false,
	} {
		require.Equal(t, want, isPostgres(path), path)
	}
}
