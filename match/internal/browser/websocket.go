package browser

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"net"
	"net/http"
)

// websocket is the client's end of a connection of text messages. Source: RFC 6455. What a browser
// on this machine sends is trusted: its frames are not checked.
type websocket struct {
	conn net.Conn
	in   *bufio.Reader
}

// dial opens a connection to host:port/path.
func dial(host, path string) (*websocket, error) {
	conn, err := net.Dial("tcp", host)
	if err != nil {
		return nil, err
	}
	w := &websocket{conn, bufio.NewReader(conn)}
	// The key is that of the standard's example, section 1.3: any 16 bytes do.
	fmt.Fprintf(conn, "GET %s HTTP/1.1\r\nHost: %s\r\nUpgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nSec-WebSocket-Version: 13\r\n\r\n", path, host)
	answer, err := http.ReadResponse(w.in, nil)
	if err != nil {
		return nil, err
	}
	if answer.StatusCode != http.StatusSwitchingProtocols {
		return nil, fmt.Errorf("no websocket at %s%s: %s", host, path, answer.Status)
	}
	return w, nil
}

// send sends a text message in one frame. A client's frames are masked (section 5.3), by any key
// here; Firefox takes no key of zeros.
func (w *websocket) send(message []byte) error {
	const final, text, masked = 0x80, 1, 0x80
	frame := []byte{final | text}
	switch n := len(message); {
	case n < 126:
		frame = append(frame, masked|byte(n))
	case n < 1<<16:
		frame = binary.BigEndian.AppendUint16(append(frame, masked|126), uint16(n))
	default:
		frame = binary.BigEndian.AppendUint64(append(frame, masked|127), uint64(n))
	}
	key := []byte{1, 2, 3, 4}
	frame = append(frame, key...)
	for i, b := range message {
		frame = append(frame, b^key[i%4])
	}
	_, err := w.conn.Write(frame)
	return err
}

// receive returns the next text message.
func (w *websocket) receive() ([]byte, error) {
	const final, control, closing = 0x80, 8, 8 // operations from 8 are control frames
	var message []byte
	for {
		var head [2]byte
		if _, err := io.ReadFull(w.in, head[:]); err != nil {
			return nil, err
		}
		size, length := uint64(head[1]), make([]byte, 8)
		switch size {
		case 126:
			length = length[:2]
		case 127:
		default:
			length = nil
		}
		if _, err := io.ReadFull(w.in, length); err != nil {
			return nil, err
		}
		switch len(length) {
		case 2:
			size = uint64(binary.BigEndian.Uint16(length))
		case 8:
			size = binary.BigEndian.Uint64(length)
		}
		part := make([]byte, size)
		if _, err := io.ReadFull(w.in, part); err != nil {
			return nil, err
		}
		switch operation := head[0] & 15; {
		case operation == closing:
			return nil, io.EOF
		case operation < control:
			message = append(message, part...)
			if head[0]&final != 0 {
				return message, nil
			}
		}
	}
}
