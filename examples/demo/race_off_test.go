//go:build !race

package demo

const underRace = false
