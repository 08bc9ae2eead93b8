//go:build unix && !linux

package cluster

const (
	// maxSocketPath is the longest path of a unix socket in bytes: 104 with
	// the closing zero, by unix(4) of macOS and the BSDs.
	maxSocketPath = 103
	// hasModes tells that files have permission bits that mean something.
	hasModes = true
)
