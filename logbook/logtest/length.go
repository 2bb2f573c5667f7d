package logtest

// AtLength is how often a test draws: the whole count in a plain build, and so many where
// each takes ten times as long, with the race detector or as WebAssembly. make test runs what
// asks this in a plain build as well.
func AtLength(whole, slowly int) int {
	if slow {
		return slowly
	}
	return whole
}
