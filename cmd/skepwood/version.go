package main

import (
	"fmt"
	"runtime/debug"
)

// version is set at release time with -ldflags "-X main.version=1.2.3".
var version = "development"

type versionCmd struct{}

// Run prints the program's version and the toolchain that built it.
func (versionCmd) Run(std *streams) error {
	goVersion := "unknown"
	if info, ok := debug.ReadBuildInfo(); ok {
		goVersion = info.GoVersion
	}
	_, err := fmt.Fprintf(std.Out, "skepwood %s (%s)\n", version, goVersion)
	return err
}
