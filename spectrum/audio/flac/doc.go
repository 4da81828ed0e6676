// Package flac reads FLAC of up to 24 bits, and writes it with 16.
//
// Decoding takes about as long as ffmpeg's (TestFLACSpeed). A damaged frame becomes silence of its length, so that what follows stays in its place. Source: RFC 9639.
//
// It imports what all codecs share.
package flac
