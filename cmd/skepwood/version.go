package main

import (
	"encoding/json"
	"fmt"
	"runtime/debug"

	"skepwood/analytics/mark"
	"skepwood/analytics/screen"
	"skepwood/db"
)

// version is set at release time with -ldflags "-X main.version=1.2.3".
var version = "development"

type versionCmd struct {
	JSON bool `name:"json" help:"Print JSON."`
}

// versions are what this program carries, each with a count of its own.
type versions struct {
	Program string `json:"program"`
	Go      string `json:"go"`
	// Rules is the version stored beside every verdict; it ends in that of the
	// mark tables.
	Rules string `json:"rules"`
	Marks string `json:"marks"`
	// Database is the newest schema this program knows; it opens no book to say so.
	Database int64 `json:"database"`
}

// Run prints the versions of the program, of the rules and mark tables it
// carries and of the database schema it knows.
func (c versionCmd) Run(std *streams) error {
	v := versions{Program: version, Go: "unknown", Rules: screen.Version(), Marks: mark.Document().Version, Database: db.LatestVersion()}
	if info, ok := debug.ReadBuildInfo(); ok {
		v.Go = info.GoVersion
	}
	if c.JSON {
		e := json.NewEncoder(std.Out)
		e.SetIndent("", "  ")
		return e.Encode(v)
	}
	_, err := fmt.Fprintf(std.Out, "skepwood %s (%s)\nrules %s\nmark tables %s\ndatabase schema %d\n", v.Program, v.Go, v.Rules, v.Marks, v.Database)
	return err
}
