//go:build race

package demo

// underRace reports whether the race detector runs, which makes synthesis about twenty times slower.
const underRace = true
