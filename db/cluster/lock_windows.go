package cluster

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// tryLock locks one byte far behind the content, because on Windows a locked
// byte cannot be read by others and the pid must stay readable.
func tryLock(file *os.File) error {
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	err := windows.LockFileEx(windows.Handle(file.Fd()), flags, 0, 1, 0, &windows.Overlapped{OffsetHigh: 1})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return errLocked
	}
	return err
}

// unlock releases the lock at once; closing the file alone may take a while.
func unlock(file *os.File) error {
	return windows.UnlockFileEx(windows.Handle(file.Fd()), 0, 1, 0, &windows.Overlapped{OffsetHigh: 1})
}
