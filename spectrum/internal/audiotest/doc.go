// Package audiotest helps to test decoders. It runs other programs, has small files of every kind and sound to encode,
// and checks that a decoder survives any input. Only tests may import it.
//
// It imports codec and quick, so that the codecs' own tests can use it.
package audiotest
