//go:build unix && !linux

package cluster

import (
	"os/exec"
	"syscall"
)

// lastSignal has no effect here: the system tells a child nothing about the
// death of its parent. The next start finds the survivor and stops it.
type lastSignal int

const (
	lastKill lastSignal = iota
	lastShutdown
)

func setAttributes(cmd *exec.Cmd, id identity, _ lastSignal) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Credential: credential(id)}
}
