//go:build race

package demo

// underRace says that the race detector runs, which makes synthesis some twenty times slower.
const underRace = true
