// Package ogg reads Vorbis and Opus in Ogg. Of several streams in a file the first is read.
//
// Pages and their checksums are read here; libraries decode the packets. A page's position tells how much sound damage has
// cost, and that much silence takes its place. Sources: RFC 3533, RFC 7845, Vorbis I specification.
//
// It imports what all codecs share.
package ogg
