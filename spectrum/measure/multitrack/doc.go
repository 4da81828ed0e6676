// Package multitrack measures a mix together with single tracks of it, read in step.
//
// [Measure] makes the [Table] from which everything about single tracks is computed.
// [Table.MeasureFilters] reads them again with filters on some tracks. [CoherentPower] finds
// one track in a mix.
//
// It builds on biquad, spectrum, spectrum/audio and spectrum/loudness.
package multitrack
