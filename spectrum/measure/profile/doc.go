// Package profile stores the tables of recordings as one JSON document, so that they can be
// compared without their sound.
//
// [Read] reads what [Profile.Write] writes, up to rounding. [Merge] joins profiles; the
// result does not depend on order and grouping.
//
// It builds on spectrum/measure.
package profile
