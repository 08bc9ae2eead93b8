package main

import (
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/alecthomas/kong"
)

// bookFlags say where the book is kept; every command that opens it has them.
type bookFlags struct {
	DataDir     string `help:"Folder that holds the private PostgreSQL cluster (default: the usual place for your system)." env:"SKEPWOOD_DATA_DIR" placeholder:"DIR"`
	DatabaseURL string `help:"Use this PostgreSQL 15 or later instead of a private cluster." env:"SKEPWOOD_DATABASE_URL" placeholder:"URL"`
	PGBin       string `name:"pg-bin" help:"Folder with PostgreSQL's programs, where they are not found by themselves." env:"SKEPWOOD_PG_BIN" placeholder:"DIR"`
	LogLevel    string `help:"How much to log: debug, info, warn or error." env:"SKEPWOOD_LOG_LEVEL" default:"info"`
	LogFormat   string `help:"How to log: text or json." env:"SKEPWOOD_LOG_FORMAT" default:"text"`
}

// faults lists everything wrong with the settings, so that they can be
// corrected in one go.
func (f bookFlags) faults() []error {
	out := secretFaults()
	if f.DatabaseURL != "" {
		if u, err := url.Parse(f.DatabaseURL); err != nil || (u.Scheme != "postgres" && u.Scheme != "postgresql") {
			out = append(out, errors.New("SKEPWOOD_DATABASE_URL is not an address like postgres://user@host/database"))
		}
		if f.DataDir != "" {
			out = append(out, errors.New("SKEPWOOD_DATA_DIR and SKEPWOOD_DATABASE_URL exclude each other: keep the one that holds your book"))
		}
	}
	if f.PGBin != "" {
		if info, err := os.Stat(f.PGBin); err != nil || !info.IsDir() {
			out = append(out, fmt.Errorf("SKEPWOOD_PG_BIN: %s is not a folder", f.PGBin))
		}
	}
	if _, err := parseLevel(f.LogLevel); err != nil {
		out = append(out, fmt.Errorf("SKEPWOOD_LOG_LEVEL: %w", err))
	}
	if f.LogFormat != "text" && f.LogFormat != "json" {
		out = append(out, fmt.Errorf("SKEPWOOD_LOG_FORMAT: %q is neither text nor json", f.LogFormat))
	}
	return out
}

// check returns all faults as one error, or nil.
func check(faults []error) error {
	if len(faults) == 0 {
		return nil
	}
	lines := make([]string, len(faults))
	for i, err := range faults {
		lines[i] = "  " + err.Error()
	}
	noun := "faults"
	if len(faults) == 1 {
		noun = "fault"
	}
	return fmt.Errorf("the settings have %d %s:\n%s", len(faults), noun, strings.Join(lines, "\n"))
}

func parseLevel(text string) (slog.Level, error) {
	var level slog.Level
	if err := level.UnmarshalText([]byte(text)); err != nil {
		return level, fmt.Errorf("%q is none of debug, info, warn, error", text)
	}
	return level, nil
}

// logger writes to the error stream as the flags ask; the flags were checked.
func (f bookFlags) logger(std *streams) *slog.Logger {
	level, _ := parseLevel(f.LogLevel)
	opts := &slog.HandlerOptions{Level: level}
	if f.LogFormat == "json" {
		return slog.New(slog.NewJSONHandler(std.Err, opts))
	}
	return slog.New(slog.NewTextHandler(std.Err, opts))
}

// loopbackOnly refuses an address that others could reach: the book has no
// accounts yet, so whoever reaches it could read and write it.
func loopbackOnly(listen string) error {
	host, _, err := net.SplitHostPort(listen)
	if err != nil {
		return fmt.Errorf("SKEPWOOD_LISTEN: %q is not an address like 127.0.0.1:8080", listen)
	}
	if host == "localhost" {
		return nil
	}
	if ip := net.ParseIP(host); ip != nil && ip.IsLoopback() {
		return nil
	}
	return fmt.Errorf("SKEPWOOD_LISTEN: %s can be reached from other machines, and the book has no accounts yet: "+
		"anybody could read and change it. Listen on 127.0.0.1 or [::1]", listen)
}

// secretFiles reads a setting from the file that NAME_FILE names: that is how
// container secrets come. What is wrong with such files is told by
// [secretFaults], together with all other faults.
func secretFiles() kong.Resolver {
	return kong.ResolverFunc(func(_ *kong.Context, _ *kong.Path, flag *kong.Flag) (any, error) {
		for _, name := range flag.Envs {
			path, ok := os.LookupEnv(name + "_FILE")
			if !ok || os.Getenv(name) != "" {
				continue
			}
			if text, err := readSecret(path); err == nil {
				return text, nil
			}
		}
		return nil, nil
	})
}

func readSecret(path string) (string, error) {
	text, err := os.ReadFile(filepath.Clean(path))
	return strings.TrimRight(string(text), "\r\n"), err
}

// secretFaults lists the settings whose file cannot be read, or that are given
// both ways.
func secretFaults() (out []error) {
	for _, pair := range os.Environ() {
		name, path, _ := strings.Cut(pair, "=")
		setting, isFile := strings.CutSuffix(name, "_FILE")
		if !isFile || !strings.HasPrefix(name, "SKEPWOOD_") {
			continue
		}
		if os.Getenv(setting) != "" {
			out = append(out, fmt.Errorf("%s and %s exclude each other: keep one of them", setting, name))
		}
		if _, err := readSecret(path); err != nil {
			out = append(out, fmt.Errorf("%s: %w", name, err))
		}
	}
	slices.SortFunc(out, func(a, b error) int { return strings.Compare(a.Error(), b.Error()) })
	return out
}
