package browser

import (
	"encoding/binary"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"time"
)

// output is an output device without loudspeakers, which browsers need to play: a null sink of
// PulseAudio. What is played can be recorded from it.
var output struct {
	server *exec.Cmd
	folder string
}

// startOutput starts the device, once, for the browsers that are started after it. It returns the
// name of the program that is missing, if one is.
func startOutput() (missing string) {
	if output.server != nil {
		return ""
	}
	path, err := exec.LookPath("pulseaudio")
	if err != nil {
		return "pulseaudio"
	}
	if output.folder, err = os.MkdirTemp(tempDir, "output-"); err != nil {
		return "a temporary folder"
	}
	socket := filepath.Join(output.folder, "socket")
	output.server = exec.Command(path, "-n", "--daemonize=no", "--exit-idle-time=-1", "--load=module-null-sink sink_name=out",
		"--load=module-native-protocol-unix socket="+socket+" auth-anonymous=1")
	output.server.Env = append(os.Environ(), "XDG_RUNTIME_DIR="+output.folder, "HOME="+output.folder)
	if err := output.server.Start(); err != nil {
		return "pulseaudio"
	}
	for end := time.Now().Add(wait); ; time.Sleep(look) {
		if _, err := os.Stat(socket); err == nil {
			break
		}
		if time.Now().After(end) {
			return "pulseaudio's socket"
		}
	}
	os.Setenv("PULSE_SERVER", "unix:"+socket)
	return ""
}

func stopOutput() {
	if output.server != nil {
		output.server.Process.Kill()
		output.server.Wait()
		os.RemoveAll(output.folder)
	}
}

// RecordedHz is the sample rate of recordings of what is played.
const RecordedHz = 48000

// Sounding records what the browsers play for a second and returns its level in dBFS, the mean
// power of both channels: −Inf is silence. It fails the test if there is no output to record.
func (b *Tab) Sounding() float64 {
	b.T.Helper()
	power := 0.0
	for _, channel := range b.Recorded(1) {
		for _, x := range channel {
			power += x * x / (2 * RecordedHz)
		}
	}
	return 10 * math.Log10(power)
}

// Recorded records what the browsers play for so many seconds, left and right. It fails the test if
// there is no output to record.
func (b *Tab) Recorded(sec int) [][]float64 {
	b.T.Helper()
	if output.server == nil {
		b.T.Fatal("the browser was started without an output to record")
	}
	record := exec.CommandContext(b.ctx, "parec", "--device=out.monitor", "--format=float32le", "--rate=48000", "--channels=2", "--raw")
	from, err := record.StdoutPipe()
	b.must(err)
	b.must(record.Start())
	raw := make([]byte, 4*2*RecordedHz*sec)
	_, err = io.ReadFull(from, raw)
	record.Process.Kill()
	record.Wait()
	b.must(err)
	x := [][]float64{make([]float64, RecordedHz*sec), make([]float64, RecordedHz*sec)}
	for i := range 2 * RecordedHz * sec {
		x[i%2][i/2] = float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:])))
	}
	return x
}
