package pcm

import "encoding/binary"

// Expect announces, before the first Write, the largest number of frames that will be written. A file that could then be
// longer than 4 GiB is written as RF64, whose sizes have 64 bits. Expect panics after a Write.
func (w *Writer) Expect(frames int64) error {
	if w.dataLen > 0 || w.closed {
		panic("pcm: Expect after Write")
	}
	if int64(w.headLen)+frames*int64(w.channels*w.depth.bytes())+1 <= maxWAVLen {
		return nil
	}
	w.long = true
	head, short := w.header(), w.headLen
	w.headLen = len(head)
	_, err := w.file.WriteAt(head[:short], 0)
	if err == nil {
		_, err = w.file.Write(head[short:])
	}
	if err != nil {
		return w.fail(err)
	}
	return nil
}

// ds64 returns the chunk with the size of the file, the size of the data and the number of frames in 64 bits. Source:
// EBU Tech 3306, ITU-R BS.2088, from memory.
func (w *Writer) ds64() []byte {
	const length = 28
	le := binary.LittleEndian
	chunk := le.AppendUint32([]byte("ds64"), length)
	chunk = le.AppendUint64(chunk, uint64(int64(w.headLen)-chunkHeaderLen+w.dataLen+w.dataLen%2))
	chunk = le.AppendUint64(chunk, uint64(w.dataLen))
	chunk = le.AppendUint64(chunk, uint64(w.dataLen/int64(w.channels*w.depth.bytes())))
	chunk = le.AppendUint32(chunk, 0) // no other long chunks
	return chunk
}
