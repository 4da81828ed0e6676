// Package ogg reads Vorbis and Opus in Ogg. Of several streams in a file only the first is read.
//
// Pages and their checksums are read here; libraries decode the packets. The position in a page's header shows how much
// sound was lost to damage before it; silence of that length replaces it. Sources: RFC 3533, RFC 7845, Vorbis I
// specification.
//
// Of toneplumb it imports package codec only.
package ogg
