package cluster

const (
	// maxSocketPath is the longest path of a unix socket in bytes: 108 with
	// the closing zero, by unix(7).
	maxSocketPath = 107
	// hasModes tells that files have permission bits that mean something.
	hasModes = true
)
