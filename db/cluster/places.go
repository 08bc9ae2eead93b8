package cluster

// usualPlaces returns the patterns of the folders in which the packages of
// each system put the server's programs.
func usualPlaces(goos string) []string {
	switch goos {
	case "windows":
		return []string{
			`C:\Program Files\PostgreSQL\*\bin`, // the EDB installer
			`C:\Program Files (x86)\PostgreSQL\*\bin`,
		}
	case "darwin":
		return []string{
			"/opt/homebrew/opt/postgresql*/bin", // Homebrew on Apple silicon
			"/usr/local/opt/postgresql*/bin",    // Homebrew on Intel
			"/Applications/Postgres.app/Contents/Versions/*/bin",
			"/opt/local/lib/postgresql*/bin", // MacPorts
			"/Library/PostgreSQL/*/bin",      // the EDB installer
			"/usr/local/pgsql/bin",           // built from source
		}
	}
	return []string{
		"/usr/lib/postgresql/*/bin", // Debian, Ubuntu
		"/usr/pgsql-*/bin",          // Fedora and its kin, packages of the PostgreSQL project
		"/usr/bin",                  // Fedora, Arch
		"/usr/lib/postgresql*/bin",  // SUSE
		"/usr/libexec/postgresql*",  // Alpine
		"/usr/local/pgsql/bin",      // built from source
		"/usr/local/bin",            // the BSDs
		"/opt/postgresql*/bin",
		"/home/linuxbrew/.linuxbrew/opt/postgresql*/bin",
	}
}
