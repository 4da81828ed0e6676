// Package profile keeps the tables of recordings as one JSON document, so that they can be compared without their sound.
//
// [Profile.Write] and [Read] are inverse but for rounding; [Merge] joins profiles in any order and grouping.
//
// It builds on spectrum/measure.
package profile
