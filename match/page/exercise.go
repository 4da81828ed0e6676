package page

import (
	"bytes"
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"io"
	"math"
	"strconv"

	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio/flac"
)

var exerciseTemplate = template.Must(template.New("exercise.html").Funcs(sentences).Funcs(template.FuncMap{"after": func(i int) int { return i + 1 }}).ParseFS(files, "exercise.html", "player/player.html"))

// exercisePage is the data of exercise.html. Nothing in it except the sounds depends on what is
// hidden.
type exercisePage struct {
	Policy  string
	Style   template.CSS
	Script  template.JS
	Mix     string
	Rules   training.Rules
	Hidden  string // how many moves
	Audible string
	Seconds string
	Renders int
	Data    struct {
		Player   *Player           `json:"player"`
		Practice training.Practice `json:"practice"`
		Zones    []Zone            `json:"zones"`
	}
	Sounds []embedded
}

// ErrTooMuch means that a page cannot hold this many renders.
var ErrTooMuch = errors.New("too much for one page")

// leastHeardSec is the shortest excerpt when a page has to be shortened. Our choice: a bar or
// two.
const leastHeardSec = 3.0

// WriteExercise writes a page that plays an exercise and has its sheet to fill in, without the
// answers. mix is the name given to the mix. What is hidden is only in the sounds, and these have one
// length, in frames and in bytes. Each keeps the exercise's loudness. Excerpts are shortened from
// their end so that the page is at most MaxBytes long; heardSec is their length in seconds.
// The error is [ErrTooMuch] if less than three seconds would remain, [training.ErrSilent] if there is
// no music, or w's or ctx's.
func WriteExercise(ctx context.Context, w io.Writer, e *training.Excerpt, a *training.Answers, mix string) (heardSec float64, err error) {
	front := &training.Excerpt{RateHz: e.RateHz, FromSec: e.FromSec, Sound: e.Sound[:min(2, len(e.Sound))]}
	const room = MaxBytes - restBytes
	each := room / (len(a.Tasks) + 1) / 4 * 3 // bytes before base64
	sec := front.Sec()
	plain, err := flacOf(front.RateHz, front.Sound, 1) // a cheap estimate of the others
	if err != nil {
		return 0, err
	}
	var files [][]byte
	for longest := len(plain); ; {
		if longest > each {
			if sec = math.Floor(sec*10*0.97*float64(each)/float64(longest)) / 10; sec < leastHeardSec {
				return 0, ErrTooMuch
			}
		}
		if files, err = storeExercise(ctx, front.First(sec), a); err != nil {
			return 0, err
		}
		if longest = len(files[0]); longest <= each {
			break
		}
	}
	d := newExercisePage(a, mix, e.RateHz, sec)
	d.Data.Practice, d.Data.Zones = e.Hearing().Practice(), zones()
	for i, at := range d.Data.Practice.Places {
		d.Data.Practice.Places[i].Name = words.Shape(at.Shape)
	}
	for i, file := range files {
		d.Sounds = append(d.Sounds, embedded{soundID(i), template.HTML(base64.StdEncoding.EncodeToString(file))})
	}
	var out bytes.Buffer
	if err := exerciseTemplate.Execute(&out, d); err != nil {
		return 0, err
	}
	_, err = w.Write(out.Bytes())
	return sec, err
}

func soundID(i int) string { return fmt.Sprintf("sound-%02d", i) }

func newExercisePage(a *training.Answers, mix string, rateHz int, sec float64) *exercisePage {
	d := &exercisePage{
		Style:  template.CSS(joined(".", "page.css", "exercise.css")),
		Script: template.JS(joined("player", "sound.js", "volume.js", "filter.js") + joined(".", "trial.js", "alone.js", "exercise.js")),
		Mix:    mix, Rules: a.Rules, Audible: words.Audible(a.Rules), Hidden: words.HiddenMoves(a.Rules), Renders: len(a.Tasks),
		Seconds: strconv.FormatFloat(math.Round(sec*10)/10, 'f', -1, 64),
	}
	d.Policy = policy(string(d.Style), string(d.Script))
	// All are stored at one loudness, so that no level is in the page.
	p := &Player{RateHz: rateHz, Seconds: report.Number(sec), Moves: []Switch{}}
	for i := range len(a.Tasks) + 1 {
		name := "plain"
		if i > 0 {
			name = fmt.Sprintf("render %d", i)
		}
		p.Sources = append(p.Sources, Source{Name: name, Sound: soundID(i), LoudnessLUFS: []report.Number{0}})
	}
	d.Data.Player = p
	return d
}

// storeExercise renders the excerpt, plain first, into FLAC files of one length.
func storeExercise(ctx context.Context, e *training.Excerpt, a *training.Answers) ([][]byte, error) {
	var files [][]byte
	longest := 0
	err := e.Renders(a.Tasks, func(i int, r training.Rendered) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		file, err := flacOf(e.RateHz, r.Sound, uint64(i+1))
		files, longest = append(files, file), max(longest, len(file))
		return err
	})
	for i := range files {
		files[i] = padFLAC(files[i], longest)
	}
	return files, err
}

func flacOf(rateHz int, sound [][]float64, seed uint64) ([]byte, error) {
	var file bytes.Buffer
	err := flac.Write(&file, rateHz, sound, seed)
	return file.Bytes(), err
}

// padFLAC lengthens a FLAC file with only a STREAMINFO block to length + 4 bytes, by a PADDING block
// after it. Source: RFC 9639, sections 8.1 to 8.3.
func padFLAC(file []byte, length int) []byte {
	const infoEnd = 4 + 4 + 34 // marker, block header, STREAMINFO
	const lastBlock, padding = 0x80, 1
	n := length - len(file)
	out := append(make([]byte, 0, length+4), file[:infoEnd]...)
	out[4] &^= lastBlock
	out = append(out, lastBlock|padding, byte(n>>16), byte(n>>8), byte(n))
	out = append(out, make([]byte, n)...)
	return append(out, file[infoEnd:]...)
}
