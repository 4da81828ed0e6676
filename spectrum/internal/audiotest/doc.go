// Package audiotest helps to test decoders: programs from outside, small files of every kind, sound to encode, and what
// no decoder may do, whatever it is given. It is for tests alone.
//
// It stands on what all codecs share, so that the codecs' own tests may use it.
package audiotest
