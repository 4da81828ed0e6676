// Package flac reads FLAC of up to 24 bits, and writes it with 16 bits.
//
// Decoding takes about as long as ffmpeg's (TestFLACSpeed). A damaged frame becomes silence of its length, so that what
// follows stays in its place. Source: RFC 9639.
//
// Of toneplumb it imports package codec only.
package flac
