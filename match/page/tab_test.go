package page

import (
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/match/internal/browser"
)

func TestMain(m *testing.M) {
	code := m.Run()
	browser.Stop()
	os.Exit(code)
}

// tab is a tab of a real browser with one saved page open.
type tab struct{ *browser.Tab }

// openPage writes html to a file and opens it from disk.
func openPage(t testing.TB, html []byte) *tab {
	t.Helper()
	file := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(file, html, 0o600); err != nil {
		t.Fatal(err)
	}
	return &tab{browser.Open(t, "file://"+file)}
}

// quiet checks that the browser had nothing to complain of and asked for nothing but the
// page itself and what is inside it.
func (b *tab) quiet() {
	b.T.Helper()
	b.Quiet()
	files := 0
	for _, url := range b.Requests() {
		switch {
		case strings.HasPrefix(url, "file://") && strings.HasSuffix(url, "/page.html"):
			files++
		case !strings.HasPrefix(url, "data:"):
			b.T.Errorf("the browser asked for %s", url)
		}
	}
	if files != 1 && browser.Engine() == "chromium" { // the other drivers do not say what comes from the disk
		b.T.Errorf("the page was asked for %d times in %q", files, b.Requests())
	}
}

// offline renders the page's own graph, both channels, for so many seconds at a rate;
// script may use g, the graph, before it is started at the beginning of the excerpt.
func (b *tab) offline(rateHz int, sec float64, script string) [][]float64 {
	b.T.Helper()
	// Decoding takes longer than all else, so it is done once for each rate.
	b.Text(`(() => { const all = {}; globalThis.decoded ??= (ctx, player) => (all[ctx.sampleRate] ??= loadSounds(ctx, player, bytesIn)); return 1; })()`)
	packed := browser.Eval[string](b.Tab, fmt.Sprintf(`(async () => {
		const player = livePlayer.transport.player;
		const ctx = new OfflineAudioContext(2, %d, %d);
		let g = buildGraph(ctx, player, await decoded(ctx, player));
		g.out.connect(ctx.destination);
		let part = [0, g.seconds];
		%s;
		g.start(0, part[0], ...part);
		const sound = await ctx.startRendering();
		let text = "";
		for (const channel of [0, 1]) {
			const bytes = new Uint8Array(sound.getChannelData(channel).buffer);
			for (let i = 0; i < bytes.length; i += 32768) text += String.fromCharCode(...bytes.subarray(i, i + 32768));
		}
		return btoa(text);
	})()`, int(math.Round(sec*float64(rateHz))), rateHz, script))
	raw, err := base64.StdEncoding.DecodeString(packed)
	if err != nil {
		b.T.Fatal(err)
	}
	frames := len(raw) / 8
	x := [][]float64{make([]float64, frames), make([]float64, frames)}
	for i := range 2 * frames {
		x[i/frames][i%frames] = float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:])))
	}
	return x
}
