package main

import (
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// listed is a package as the go command describes it, tests apart.
type listed struct {
	ImportPath, Dir string
	GoFiles         []string
	Imports, Deps   []string
	Standard        bool
}

// listPackages asks the go command for the packages of this module.
func listPackages(t *testing.T) []listed {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), "go", "list", "-json=ImportPath,Dir,GoFiles,Imports,Deps,Standard", "skepwood/...")
	cmd.Stderr = t.Output()
	out, err := cmd.Output()
	require.NoError(t, err)
	var packages []listed
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		err := d.Decode(&p)
		if errors.Is(err, io.EOF) {
			return packages
		}
		require.NoError(t, err)
		packages = append(packages, p)
	}
}

// under reports whether a package is root or lies below it.
func under(path, root string) bool { return path == root || strings.HasPrefix(path, root+"/") }

// TestImportsPointDown keeps the layers apart, however far a dependency
// reaches: cmd -> server -> {charts, db} -> analytics.
func TestImportsPointDown(t *testing.T) {
	t.Parallel()
	packages := listPackages(t)
	for root, forbidden := range map[string][]string{
		"skepwood/analytics": {"skepwood/charts", "skepwood/db", "skepwood/server", "skepwood/cmd"},
		"skepwood/charts":    {"skepwood/db", "skepwood/server", "skepwood/cmd"},
		"skepwood/db":        {"skepwood/charts", "skepwood/server", "skepwood/cmd"},
		"skepwood/server":    {"skepwood/cmd"},
	} {
		seen := 0
		for _, p := range packages {
			if !under(p.ImportPath, root) {
				continue
			}
			seen++
			for _, dep := range p.Deps {
				for _, no := range forbidden {
					require.False(t, under(dep, no), "%s depends on %s: imports point down", p.ImportPath, dep)
				}
			}
		}
		require.Positive(t, seen, "%s has packages", root)
	}
}

// TestTestHelpersStayInTests keeps the packages that only tests may import
// out of the program.
func TestTestHelpersStayInTests(t *testing.T) {
	t.Parallel()
	for _, p := range listPackages(t) {
		for _, helper := range []string{"skepwood/db/dbtest", "skepwood/server/browsertest", "testing", "github.com/chromedp/chromedp", "github.com/stretchr/testify/require"} {
			if p.ImportPath == "skepwood/db/dbtest" || p.ImportPath == "skepwood/server/browsertest" {
				continue
			}
			require.NotContains(t, p.Imports, helper, "%s is for tests", helper)
		}
	}
}

// TestAnalyticsIsPure allows the packages that compute the standard library
// without its outside world, gonum and each other, and no clock.
func TestAnalyticsIsPure(t *testing.T) {
	t.Parallel()
	outside := []string{"database", "log", "net", "os", "os/exec", "plugin", "syscall", "testing", "unsafe", "flag"}
	for _, p := range listPackages(t) {
		if !under(p.ImportPath, "skepwood/analytics") {
			continue
		}
		for _, path := range p.Imports {
			first, _, _ := strings.Cut(path, "/")
			standard := !strings.Contains(first, ".") && first != "skepwood"
			require.True(t, standard || under(path, "gonum.org/v1/gonum") || under(path, "skepwood/analytics"), "%s imports %s", p.ImportPath, path)
			require.False(t, slices.ContainsFunc(outside, func(no string) bool { return under(path, no) }), "%s imports %s", p.ImportPath, path)
		}
		for _, file := range p.GoFiles {
			for _, call := range worldlyCalls(t, filepath.Join(p.Dir, file)) {
				require.Fail(t, "not pure", "%s/%s uses %s: pass the value in", p.ImportPath, file, call)
			}
		}
	}
}

// worldlyCalls lists what a file takes from the clock or writes to the
// terminal.
func worldlyCalls(t *testing.T, path string) (out []string) {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
	require.NoError(t, err)
	worldly := map[string][]string{
		"time": {"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTicker", "NewTimer"},
		"fmt":  {"Print", "Println", "Printf", "Scan", "Scanln", "Scanf"},
	}
	ast.Inspect(file, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok {
			if x, ok := s.X.(*ast.Ident); ok && slices.Contains(worldly[x.Name], s.Sel.Name) {
				out = append(out, x.Name+"."+s.Sel.Name)
			}
		}
		return true
	})
	return out
}
