//go:build unix

package cluster

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// digest sums up every file of the cluster: name, mode, owner, time, content.
func digest(t *testing.T, cfg Config) string {
	t.Helper()
	sum := sha256.New()
	root := os.DirFS(filepath.Join(cfg.Dir, dataName))
	require.NoError(t, fs.WalkDir(root, ".", func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := entry.Info()
		if err != nil {
			return err
		}
		uid, gid := owner(info)
		fmt.Fprintln(sum, path, info.Mode(), uid, gid, info.ModTime().UnixNano())
		if !info.Mode().IsRegular() {
			return nil
		}
		file, err := root.Open(path)
		if err != nil {
			return err
		}
		defer file.Close()
		_, err = io.Copy(sum, file)
		return err
	}))
	return hex.EncodeToString(sum.Sum(nil))
}

func TestSecondProgramIsRefused(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	p := running(t, cfg)
	_, err := Start(t.Context(), cfg)
	var used *InUseError
	require.ErrorAs(t, err, &used)
	require.Equal(t, &InUseError{Dir: cfg.Dir, PID: p.cmd.Process.Pid}, used)
	require.ErrorContains(t, err, "in use by another skepwood (process "+strconv.Itoa(p.cmd.Process.Pid)+")")
	requireKept(t, p.URL)
}

func TestSecondStartInOneProgram(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	c := start(t, cfg)
	_, err := Start(t.Context(), cfg)
	require.ErrorContains(t, err, strconv.Itoa(os.Getpid()))
	require.NoError(t, c.Stop(context.Background()))
	o, err := open(t.Context(), cfg, cfg.Dir)
	require.NoError(t, err, "Stop gives the directory back")
	o.close()
}

// Two programs that begin at once on a new directory: one gets it.
func TestBothAtOnce(t *testing.T) {
	t.Parallel()
	need(t)
	cfg := config(t, filepath.Join(openPlace(t), "d"))
	a, b := spawn(t, cfg), spawn(t, cfg)
	a.read(t)
	b.read(t)
	won, lost := a, b
	if a.Error != "" {
		won, lost = b, a
	}
	require.Empty(t, won.Error)
	require.Contains(t, lost.Error, fmt.Sprintf("in use by another skepwood (process %d)", won.cmd.Process.Pid))
	require.Equal(t, 1, lost.exit(t))
	require.Equal(t, "1", ask(t, won.URL, "SELECT '1'"))
}

func TestOtherVersion(t *testing.T) {
	t.Parallel()
	bins := need(t)
	for _, version := range []string{"14", "99"} {
		t.Run(version, func(t *testing.T) {
			t.Parallel()
			cfg := book(t)
			require.NoError(t, os.WriteFile(filepath.Join(cfg.Dir, dataName, "PG_VERSION"), []byte(version+"\n"), 0o600))
			before := digest(t, cfg)
			_, err := Start(t.Context(), cfg)
			var other *VersionError
			require.ErrorAs(t, err, &other)
			require.Equal(t, version, other.Cluster)
			for _, advice := range []string{
				"written by PostgreSQL " + version, fmt.Sprintf("only version %d was found (in %s)", bins.Version, bins.Dir),
				"apt install postgresql-" + version, "pg_dump", "pg_restore", filepath.Join(cfg.Dir, passwordName), "Nothing was changed",
			} {
				require.ErrorContains(t, err, advice)
			}
			require.Equal(t, before, digest(t, cfg))
		})
	}
}

// A cluster is run by the version that made it although a later one is
// installed, and a new one by the latest.
func TestChooseVersion(t *testing.T) {
	t.Parallel()
	installed := []Binaries{{Dir: "/99", Version: 99}, {Dir: "/15", Version: 15, minor: 9}, {Dir: "/old15", Version: 15, minor: 2}}
	cfg := config(t, openPlace(t))
	o, err := open(t.Context(), cfg, cfg.Dir)
	require.NoError(t, err)
	defer o.close()
	bins, exists, err := o.choose(installed)
	require.NoError(t, err)
	require.False(t, exists)
	require.Equal(t, "/99", bins.Dir)
	require.NoError(t, os.Mkdir(filepath.Join(cfg.Dir, dataName), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(cfg.Dir, dataName, "PG_VERSION"), []byte("15\n"), 0o600))
	bins, exists, err = o.choose(installed)
	require.NoError(t, err)
	require.True(t, exists)
	require.Equal(t, "/15", bins.Dir)
}

func TestWidenedMode(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	data := filepath.Join(cfg.Dir, dataName)
	for _, mode := range []os.FileMode{0o755, 0o777, 0o770, 0o701} {
		require.NoError(t, os.Chmod(data, mode))
		before := digest(t, cfg)
		_, err := Start(t.Context(), cfg)
		var wide *FolderModeError
		require.ErrorAs(t, err, &wide)
		require.Equal(t, mode, wide.Mode)
		require.ErrorContains(t, err, "chmod -R u=rwX,g=,o= "+data)
		require.Equal(t, before, digest(t, cfg))
	}
	require.NoError(t, os.Chmod(data, 0o750), "the mode that PostgreSQL allows besides 0700")
	requireKept(t, start(t, cfg).URL("postgres"))
}

func TestNotACluster(t *testing.T) {
	t.Parallel()
	need(t)
	t.Run("files in the way", func(t *testing.T) {
		t.Parallel()
		cfg := config(t, openPlace(t))
		require.NoError(t, os.Mkdir(filepath.Join(cfg.Dir, dataName), 0o700))
		letter := filepath.Join(cfg.Dir, dataName, "letter.txt")
		require.NoError(t, os.WriteFile(letter, []byte("dear"), 0o600))
		_, err := Start(t.Context(), cfg)
		var other *NotClusterError
		require.ErrorAs(t, err, &other)
		require.ErrorContains(t, err, "move it away")
		require.FileExists(t, letter)
	})
	t.Run("someone else's cluster", func(t *testing.T) {
		t.Parallel()
		cfg := book(t)
		cfg.Dir = filepath.Join(cfg.Dir, dataName)
		_, err := Start(t.Context(), cfg)
		var other *NotClusterError
		require.ErrorAs(t, err, &other)
		require.NoDirExists(t, filepath.Join(cfg.Dir, dataName))
	})
	t.Run("a file for a directory", func(t *testing.T) {
		t.Parallel()
		cfg := config(t, filepath.Join(openPlace(t), "file"))
		require.NoError(t, os.WriteFile(cfg.Dir, nil, 0o600))
		_, err := Start(t.Context(), cfg)
		require.ErrorContains(t, err, cfg.Dir)
	})
}

func TestPassword(t *testing.T) {
	t.Parallel()
	var wrong *PasswordError
	t.Run("missing", func(t *testing.T) {
		t.Parallel()
		cfg := book(t)
		require.NoError(t, os.Remove(filepath.Join(cfg.Dir, passwordName)))
		_, err := Start(t.Context(), cfg)
		require.ErrorAs(t, err, &wrong)
		require.ErrorIs(t, err, fs.ErrNotExist)
		require.ErrorContains(t, err, "backup")
		require.NoFileExists(t, filepath.Join(cfg.Dir, passwordName))
	})
	t.Run("empty", func(t *testing.T) {
		t.Parallel()
		cfg := book(t)
		require.NoError(t, os.Truncate(filepath.Join(cfg.Dir, passwordName), 0))
		_, err := Start(t.Context(), cfg)
		require.ErrorContains(t, err, "it is empty")
	})
	t.Run("of another book", func(t *testing.T) {
		t.Parallel()
		cfg := book(t)
		require.NoError(t, os.WriteFile(filepath.Join(cfg.Dir, passwordName), []byte("other\n"), 0o600))
		_, err := Start(t.Context(), cfg)
		require.ErrorContains(t, err, "refuses the password")
		requireNoProcess(t, cfg.Dir)
	})
	t.Run("open to others", func(t *testing.T) {
		t.Parallel()
		cfg := book(t)
		path := filepath.Join(cfg.Dir, passwordName)
		require.NoError(t, os.Chmod(path, 0o644))
		o, err := open(t.Context(), cfg, cfg.Dir)
		require.NoError(t, err)
		defer o.close()
		require.NoError(t, o.loadPassword(true))
		info, err := os.Stat(path)
		require.NoError(t, err)
		require.EqualValues(t, 0o600, info.Mode().Perm())
	})
}

func TestMissingBinaries(t *testing.T) {
	t.Parallel()
	place := openPlace(t)
	cfg := Config{Dir: filepath.Join(place, "d"), BinDir: place}
	_, err := Start(t.Context(), cfg)
	var missing *MissingBinariesError
	require.ErrorAs(t, err, &missing)
	for _, way := range []string{place, "apt install", "dnf install", "brew install", "SKEPWOOD_PG_BIN", "SKEPWOOD_DATABASE_URL"} {
		require.ErrorContains(t, err, way)
	}
	require.NoDirExists(t, cfg.Dir)
}
