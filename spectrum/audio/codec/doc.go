// Package codec holds what all decoders of sound files share: the description of a recording, the interface of a decoder,
// the texts of errors and warnings, the format of times, and the rounding to integer samples.
//
// It imports nothing of toneplumb.
package codec
