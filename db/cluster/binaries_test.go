//go:build unix

package cluster

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// install puts an installation that only knows its version into the folder.
func install(t *testing.T, dir, version string) string {
	t.Helper()
	require.NoError(t, os.MkdirAll(dir, 0o755))
	script := fmt.Sprintf("#!/bin/sh\necho 'postgres (PostgreSQL) %s'\n", version)
	for _, program := range []string{"initdb", "postgres"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, program), []byte(script), 0o755))
	}
	return dir
}

// newest runs the search and returns what FindBinaries would.
func newest(t *testing.T, s search) (Binaries, error) {
	t.Helper()
	all, err := s.run(t.Context())
	if err != nil {
		return Binaries{}, err
	}
	return all[0], nil
}

func TestNewestWins(t *testing.T) {
	t.Parallel()
	root := t.TempDir()
	install(t, filepath.Join(root, "a", "14", "bin"), "14.20")
	install(t, filepath.Join(root, "a", "16", "bin"), "16.2 (Debian 16.2-1.pgdg120+2)")
	want := install(t, filepath.Join(root, "b", "bin"), "16.11")
	inPath := install(t, filepath.Join(root, "path"), "15.18")
	bins, err := newest(t, search{path: inPath, places: []string{filepath.Join(root, "a", "*", "bin"), filepath.Join(root, "b", "bin"), filepath.Join(root, "none", "*")}})
	require.NoError(t, err)
	require.Equal(t, Binaries{Dir: want, Version: 16, Full: "16.11", minor: 11}, bins)
}

func TestPath(t *testing.T) {
	t.Parallel()
	dir := install(t, filepath.Join(t.TempDir(), "bin"), "17.1")
	links := t.TempDir()
	require.NoError(t, os.Symlink(filepath.Join(dir, "postgres"), filepath.Join(links, "postgres")))
	list := string(os.PathListSeparator)
	for name, path := range map[string]string{
		"folder":       "/nowhere" + list + dir,
		"link":         links,
		"both":         links + list + dir,
		"empty entry":  list + dir + list,
		"twice":        dir + list + dir,
		"with a slash": dir + "/",
	} {
		all, err := search{path: path}.run(t.Context())
		require.NoError(t, err, name)
		require.Len(t, all, 1, name)
		require.Equal(t, dir, all[0].Dir, name)
	}
}

// An entry such as "." would run whatever lies in the current folder.
func TestRelativePathIsIgnored(t *testing.T) { // not parallel: changes the folder
	dir := install(t, t.TempDir(), "17.1")
	t.Chdir(dir)
	_, err := newest(t, search{path: ".:"})
	require.Error(t, err)
}

func TestPGConfig(t *testing.T) {
	t.Parallel()
	dir := install(t, filepath.Join(t.TempDir(), "opt"), "15.3")
	tools := t.TempDir()
	script := "#!/bin/sh\n[ \"$1\" = --bindir ] && echo " + dir + "\n"
	require.NoError(t, os.WriteFile(filepath.Join(tools, "pg_config"), []byte(script), 0o755))
	bins, err := newest(t, search{path: tools})
	require.NoError(t, err)
	require.Equal(t, dir, bins.Dir)
}

func TestSetting(t *testing.T) {
	t.Parallel()
	above := t.TempDir()
	old := install(t, filepath.Join(above, "bin"), "15.1")
	other := install(t, filepath.Join(t.TempDir(), "bin"), "17.1")
	for _, setting := range []string{old, above} {
		bins, err := newest(t, search{setting: setting, path: other, places: []string{other}})
		require.NoError(t, err)
		require.Equal(t, old, bins.Dir, "only the setting counts")
	}
	_, err := newest(t, search{setting: "/nowhere", path: other})
	var missing *MissingBinariesError
	require.ErrorAs(t, err, &missing)
	require.Equal(t, "/nowhere", missing.Setting)
	require.ErrorContains(t, err, "in the folder /nowhere")
}

func TestTooOld(t *testing.T) {
	t.Parallel()
	old := install(t, filepath.Join(t.TempDir(), "bin"), "14.9")
	_, err := newest(t, search{places: []string{old}})
	var missing *MissingBinariesError
	require.ErrorAs(t, err, &missing)
	require.Len(t, missing.TooOld, 1)
	require.ErrorContains(t, err, "version 14.9 in "+old+" is too old")
	require.ErrorContains(t, err, "no PostgreSQL 15 or later was found on this machine")
}

func TestIncompleteInstallations(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(dir string) error{
		"no initdb":         func(dir string) error { return os.Remove(filepath.Join(dir, "initdb")) },
		"no postgres":       func(dir string) error { return os.Remove(filepath.Join(dir, "postgres")) },
		"not executable":    func(dir string) error { return os.Chmod(filepath.Join(dir, "postgres"), 0o644) },
		"folder for a file": func(dir string) error { return replaceByFolder(filepath.Join(dir, "initdb")) },
		"another program": func(dir string) error {
			return os.WriteFile(filepath.Join(dir, "postgres"), []byte("#!/bin/sh\necho hello\n"), 0o755)
		},
		"fails": func(dir string) error {
			return os.WriteFile(filepath.Join(dir, "postgres"), []byte("#!/bin/sh\necho 'postgres (PostgreSQL) 17.1'; exit 1\n"), 0o755)
		},
	} {
		dir := install(t, filepath.Join(t.TempDir(), "bin"), "17.1")
		require.NoError(t, spoil(dir))
		_, err := newest(t, search{setting: dir})
		var missing *MissingBinariesError
		require.ErrorAs(t, err, &missing, name)
	}
}

func replaceByFolder(path string) error {
	if err := os.Remove(path); err != nil {
		return err
	}
	return os.Mkdir(path, 0o755)
}

func TestParseVersion(t *testing.T) {
	t.Parallel()
	for line, want := range map[string]Binaries{
		"postgres (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)\n": {Version: 15, Full: "15.18", minor: 18},
		"postgres (PostgreSQL) 18beta2\n":                        {Version: 18, Full: "18beta2"},
		"postgres (PostgreSQL) 19devel":                          {Version: 19, Full: "19devel"},
		"postgres (PostgreSQL) 9.6.24":                           {Version: 9, Full: "9.6.24", minor: 6},
		"postgres (PostgreSQL) 17.0 (Homebrew)":                  {Version: 17, Full: "17.0"},
	} {
		bins, err := parseVersion("", line)
		require.NoError(t, err, line)
		require.Equal(t, want, bins, line)
	}
	for _, line := range []string{"", "postgres", "(PostgreSQL) x", "PostgreSQL 15.1", "(PostgreSQL) 99999999999999999999.1"} {
		_, err := parseVersion("/dir", line)
		require.Error(t, err, line)
		require.ErrorContains(t, err, "/dir")
	}
}

func TestParseVersionReadsWhatIsPrinted(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		major, minor := rapid.IntRange(1, 999).Draw(t, "major"), rapid.IntRange(0, 999).Draw(t, "minor")
		bins, err := parseVersion("d", fmt.Sprintf("postgres (PostgreSQL) %d.%d%s", major, minor, rapid.SampledFrom([]string{"", "\n", " (Debian)"}).Draw(t, "rest")))
		require.NoError(t, err)
		require.Equal(t, Binaries{Dir: "d", Version: major, Full: fmt.Sprintf("%d.%d", major, minor), minor: minor}, bins)
	})
}

func FuzzParseVersion(f *testing.F) {
	for _, seed := range []string{"postgres (PostgreSQL) 15.18", "(PostgreSQL) 18beta2", "", "(PostgreSQL) .1", "(PostgreSQL) 1.99999999999999999999"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, line string) {
		bins, err := parseVersion("d", line)
		if err == nil {
			require.NotEmpty(t, bins.Full)
			require.GreaterOrEqual(t, bins.Version, 0)
		}
	})
}

// What the search finds on this machine is what the tests run on.
func TestFindBinaries(t *testing.T) {
	t.Parallel()
	bins := need(t)
	require.GreaterOrEqual(t, bins.Version, MinVersion)
	require.FileExists(t, bins.program("initdb"))
	require.FileExists(t, bins.program("postgres"))
}

func TestUsualPlaces(t *testing.T) {
	t.Parallel()
	for system, want := range map[string][]string{
		"linux":   {"/usr/lib/postgresql/15/bin", "/usr/pgsql-16/bin", "/usr/bin", "/usr/libexec/postgresql17"},
		"darwin":  {"/opt/homebrew/opt/postgresql@17/bin", "/usr/local/opt/postgresql@16/bin", "/Applications/Postgres.app/Contents/Versions/17/bin"},
		"freebsd": {"/usr/local/bin"},
	} {
		for _, folder := range want {
			matched := false
			for _, pattern := range usualPlaces(system) {
				ok, err := filepath.Match(pattern, folder)
				require.NoError(t, err)
				matched = matched || ok
			}
			require.True(t, matched, "%s on %s", folder, system)
		}
	}
	require.Contains(t, usualPlaces("windows"), `C:\Program Files\PostgreSQL\*\bin`)
}
