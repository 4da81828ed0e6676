// Package codec is what all decoders of sound files share: the description of a recording, the interface of a decoder,
// errors and warnings in words, times in words, and words of integer samples.
//
// It imports nothing of toneplumb.
package codec
