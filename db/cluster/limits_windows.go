package cluster

const (
	// maxSocketPath is 0: PostgreSQL listens on loopback here.
	maxSocketPath = 0
	// hasModes tells that files have permission bits that mean something.
	hasModes = false
)
