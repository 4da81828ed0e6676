package tool_test

import (
	"context"
	"fmt"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/audio/tool"
)

// A file that only another program reads; err is what is said where there is none.
func Example() {
	ctx, cancel := context.WithCancel(context.Background())
	cancel() // no program is started
	_, err := tool.Open(ctx, "song.m4a", codec.NeedsTool("an MP4 or M4A file"))
	fmt.Println(err != nil)
	// Output: true
}
