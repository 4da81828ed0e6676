package serve

import (
	"fmt"
	"testing"
)

// A server that was started again at the same port has another address, and the old page says so.
func TestMovedServer(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.Until(`app.answer.confirmed !== null`)
	var port int
	if _, err := fmt.Sscanf(v.server.guard.address, "127.0.0.1:%d", &port); err != nil {
		t.Fatal(err)
	}
	v.stop()
	b.Text(`(change({ toward_percent: 70 }), 0)`)
	b.Until(`!byId("lost").hidden`)
	startAt(t, port)
	b.Until(`byId("lost").hidden && !byId("moved").hidden`)
	b.Want("what is not confirmed", dimmed, "0.7 0.7")
	b.Text(`(change({ toward_percent: 80 }), 0)`)
	b.Until(`document.querySelector("#found:not(.waiting)") !== null`)
	b.Want("what is said", `byId("lost").hidden + " " + byId("moved").hidden + " " + byId("trouble").hidden`, "true false true")
	b.Quiet("403", "ERR_CONNECTION_REFUSED", "ERR_EMPTY_RESPONSE", "ERR_CONNECTION_RESET")
}
