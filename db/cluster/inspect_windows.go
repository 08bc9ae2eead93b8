package cluster

import (
	"context"
	"errors"

	"golang.org/x/sys/windows"
)

// fateOf tells only whether a process with that pid is alive.
func (o *opening) fateOf(pid int) fate {
	handle, err := windows.OpenProcess(windows.PROCESS_QUERY_LIMITED_INFORMATION, false, uint32(pid)) //nolint:gosec // a pid
	if errors.Is(err, windows.ERROR_INVALID_PARAMETER) {
		return gone
	}
	if err != nil {
		return unknown
	}
	defer func() { _ = windows.CloseHandle(handle) }()
	var code uint32
	if err := windows.GetExitCodeProcess(handle, &code); err != nil {
		return unknown
	}
	const stillActive = 259
	if code != stillActive {
		return gone
	}
	return unknown
}

// dismissOrphans waits, as the caller does, for the processes of a killed
// server to notice.
func (o *opening) dismissOrphans(context.Context) {}
