package cluster

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Binaries is one installation of PostgreSQL.
type Binaries struct {
	// Dir is the folder that holds initdb and postgres.
	Dir string
	// Version is the major version, such as 15.
	Version int
	// Full is the version in full, such as "15.18".
	Full string

	minor int
}

// FindBinaries returns the newest installation of PostgreSQL on this machine.
// A setting that is not empty names the only folder to look at, or the folder
// above it. Otherwise it looks in PATH, where pg_config points, and in the
// usual places of Debian, Fedora, SUSE, Alpine, Homebrew, MacPorts,
// Postgres.app and the Windows and macOS installers. It returns a
// *MissingBinariesError when nothing of MinVersion or later is there.
func FindBinaries(ctx context.Context, setting string) (Binaries, error) {
	all, err := findAll(ctx, setting)
	if err != nil {
		return Binaries{}, err
	}
	return all[0], nil
}

// findAll returns every installation that is new enough, the newest first.
func findAll(ctx context.Context, setting string) ([]Binaries, error) {
	return search{setting: setting, path: os.Getenv("PATH"), places: usualPlaces(runtime.GOOS)}.run(ctx)
}

// search is where to look; tests look elsewhere than the machine.
type search struct {
	setting string
	path    string   // folders, as in PATH
	places  []string // patterns of folders
}

func (s search) run(ctx context.Context) ([]Binaries, error) {
	var found, old []Binaries
	for _, dir := range s.folders(ctx) {
		bins, err := inspectFolder(ctx, dir)
		switch {
		case ctx.Err() != nil:
			return nil, ctx.Err()
		case err != nil: // no PostgreSQL there, or a broken one
		case bins.Version < MinVersion:
			old = append(old, bins)
		default:
			found = append(found, bins)
		}
	}
	if len(found) == 0 {
		return nil, &MissingBinariesError{Setting: s.setting, TooOld: old}
	}
	slices.SortStableFunc(found, func(a, b Binaries) int {
		return cmp.Or(cmp.Compare(b.Version, a.Version), cmp.Compare(b.minor, a.minor))
	})
	return found, nil
}

// folders lists the candidates that exist, each once although several names
// may lead to it.
func (s search) folders(ctx context.Context) []string {
	if s.setting != "" {
		return distinct([]string{s.setting, filepath.Join(s.setting, "bin")})
	}
	// A relative entry of PATH would run what lies in the current folder.
	names := slices.DeleteFunc(filepath.SplitList(s.path), func(dir string) bool { return !filepath.IsAbs(dir) })
	if dir, ok := askPGConfig(ctx, names); ok {
		names = append(names, dir)
	}
	for _, pattern := range s.places {
		matches, _ := filepath.Glob(pattern) // the patterns are constants
		names = append(names, matches...)
	}
	return distinct(names)
}

// distinct returns the folders that hold a postgres, the folder of the real
// file each: /usr/local/bin may have a link to postgres alone, and postgres
// finds its own parts from where it really is.
func distinct(names []string) []string {
	var folders []string
	for _, name := range names {
		program, err := filepath.EvalSymlinks(filepath.Join(name, executable("postgres")))
		if dir := filepath.Dir(program); err == nil && !slices.Contains(folders, dir) {
			folders = append(folders, dir)
		}
	}
	return folders
}

// askPGConfig runs the first pg_config of the path; developers have it where
// the binaries are in no usual place.
func askPGConfig(ctx context.Context, path []string) (string, bool) {
	for _, dir := range path {
		program := filepath.Join(dir, executable("pg_config"))
		if info, err := os.Stat(program); err != nil || info.IsDir() {
			continue
		}
		out, err := output(ctx, program, "--bindir")
		return strings.TrimSpace(out), err == nil
	}
	return "", false
}

var (
	versionLine = regexp.MustCompile(`\(PostgreSQL\) (\d+)(\.\d+)?\S*`)

	errNoPostgres = errors.New("no PostgreSQL")
)

// inspectFolder tells which version the folder holds, if both programs that
// are needed are there.
func inspectFolder(ctx context.Context, dir string) (Binaries, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return Binaries{}, err
	}
	for _, program := range []string{"initdb", "postgres"} {
		if info, err := os.Stat(filepath.Join(dir, executable(program))); err != nil || info.IsDir() {
			return Binaries{}, fmt.Errorf("%w in %s", errNoPostgres, dir)
		}
	}
	out, err := output(ctx, filepath.Join(dir, executable("postgres")), "--version")
	if err != nil {
		return Binaries{}, err
	}
	return parseVersion(dir, out)
}

// parseVersion reads what postgres --version prints, such as
// "postgres (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)" or "(PostgreSQL) 19beta1".
func parseVersion(dir, line string) (Binaries, error) {
	match := versionLine.FindStringSubmatch(line)
	if match == nil {
		return Binaries{}, fmt.Errorf("%w in %s: its version reads %q", errNoPostgres, dir, line)
	}
	major, err := strconv.Atoi(match[1])
	if err != nil {
		return Binaries{}, fmt.Errorf("%w in %s: %w", errNoPostgres, dir, err)
	}
	minor, _ := strconv.Atoi(strings.TrimPrefix(match[2], ".")) // none in a beta
	return Binaries{Dir: dir, Version: major, Full: strings.TrimPrefix(match[0], "(PostgreSQL) "), minor: minor}, nil
}

// output runs a small question to a program; one that hangs is no answer.
func output(ctx context.Context, program string, args ...string) (string, error) {
	ctx, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	cmd := exec.CommandContext(ctx, program, args...)
	cmd.Env = childEnv(os.Environ())
	cmd.WaitDelay = time.Second
	out, err := cmd.Output()
	return string(out), err
}

func (b Binaries) program(name string) string { return filepath.Join(b.Dir, executable(name)) }

func executable(name string) string {
	if runtime.GOOS == "windows" {
		return name + ".exe"
	}
	return name
}
