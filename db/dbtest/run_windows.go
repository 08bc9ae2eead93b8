package dbtest

import "golang.org/x/sys/windows"

// isGo is false, so that each test binary has a server of its own and no
// lock between processes is needed.
func isGo(int) bool { return false }

func startOf(int) string { return "" }

// alive tells whether the run's process exists and has not ended.
func (r run) alive() bool {
	handle, err := windows.OpenProcess(windows.SYNCHRONIZE, false, uint32(r.PID)) //nolint:gosec // a pid
	if err != nil {
		return false
	}
	defer func() { _ = windows.CloseHandle(handle) }()
	event, err := windows.WaitForSingleObject(handle, 0)
	return err == nil && event == uint32(windows.WAIT_TIMEOUT)
}

// memory is empty: there is no folder whose files live in memory.
const memory = ""

func freeBytes(string) uint64 { return 0 }
