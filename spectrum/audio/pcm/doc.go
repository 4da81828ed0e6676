// Package pcm reads plain samples: WAV (RIFF, RIFX, RF64, BW64), AIFF and AIFF-C, and the floats that another program
// writes into a pipe. It writes WAV.
//
// Chunks are read here, with every size checked against the file's, and samples are unpacked here. The WAV library gets a
// canonical header, since it misreads float, odd sizes and hostile chunks.
//
// Of toneplumb it imports package codec only.
package pcm
