package cli

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"toneplumb/biquad"
	"toneplumb/match/cli/internal/exercise"
	"toneplumb/spectrum/testkit"
)

// placed are the inputs of TestNames in one place: a folder of a telling name, and a name
// for each of the files.
type placed struct {
	folder string
	names  map[string]string
}

// Two places. Both sets of names sort alike, since class numbers mixes by name.
var placedNames = [2]placed{
	{"Wisterlake Pupils", map[string]string{
		"mix": "orla_quince.wav", "mix2": "tamsin_ruddle.wav", "broken": "verity_oxbow.wav", "ref": "ferry_tune.wav", "ref2": "harbour_reel.wav",
		"before": "orla_monday.wav", "lead": "orla_voice.wav", "through": "orla_again.wav", "already": "orla_monday.json", "bass": "orla_bass.wav", "rest": "orla_strings.wav",
		"house": "ferry_house.json", "sheet": "orla_sheet.csv", "sheet2": "verity_sheet.csv", "answers": "orla_answers.json"}},
	{"Ottermill Evening", map[string]string{
		"mix": "bram_tolley.wav", "mix2": "cole_wherry.wav", "broken": "dagny_mossop.wav", "ref": "quarry_jig.wav", "ref2": "weir_song.wav",
		"before": "bram_tuesday.wav", "lead": "bram_solo.wav", "through": "bram_again.wav", "already": "bram_tuesday.json", "bass": "bram_deep.wav", "rest": "bram_upper.wav",
		"house": "alder_house.json", "sheet": "bram_sheet.csv", "sheet2": "dagny_sheet.csv", "answers": "bram_answers.json"}},
}

// put copies the inputs into a place below dir, under the names given.
func (p placed) put(t *testing.T, dir, from string, names map[string]string) (paths map[string]string) {
	t.Helper()
	folder := filepath.Join(dir, p.folder)
	if err := os.MkdirAll(filepath.Join(folder, "twin"), 0o755); err != nil {
		t.Fatal(err)
	}
	paths = map[string]string{}
	for what, name := range names {
		paths[what] = filepath.Join(folder, name)
		if err := os.Link(filepath.Join(from, what), paths[what]); err != nil {
			t.Fatal(err)
		}
	}
	paths["twin"] = filepath.Join(folder, "twin", names["mix"]) // another file of the mix's name
	if err := os.Link(filepath.Join(from, "ref2"), paths["twin"]); err != nil {
		t.Fatal(err)
	}
	paths["then"] = filepath.Dir(paths["twin"]) // a folder of earlier bounces
	return paths
}

// telling are the words that give a place away: its folder and, where names are to stay
// out too, the stems of its files' names. With its underline no stem comes up by chance in
// the letters that sound is stored as in a page.
func (p placed) telling(names bool) []string {
	all := []string{strings.Fields(p.folder)[0], "TestNames"}
	if names {
		for _, name := range p.names {
			all = append(all, strings.TrimSuffix(name, filepath.Ext(name)))
		}
	}
	slices.Sort(all)
	return all
}

// namesInputs writes what TestNames reads, each under the name of what it is.
func namesInputs(t *testing.T, dir string) {
	t.Helper()
	const seconds = 14 // of which eqread needs 13
	in := func(name string) string { return filepath.Join(dir, name) }
	shelf := func(db float64) biquad.Filter {
		return biquad.Filter{Shape: biquad.HighShelf, FreqHz: 2500, GainDB: db, Q: 0.7}
	}
	synthesised(t, in("mix"), seconds, 1)
	synthesised(t, in("mix2"), seconds, 1, shelf(3))
	synthesised(t, in("before"), seconds, 1, shelf(-3))
	synthesised(t, in("lead"), seconds, 1, biquad.Filter{Shape: biquad.Bell, FreqHz: 1000, GainDB: 6, Q: 1})
	synthesised(t, in("bass"), seconds, 1, biquad.Filter{Shape: biquad.HighCut, FreqHz: 300, CutDBPerOct: 12})
	synthesised(t, in("rest"), seconds, 1, biquad.Filter{Shape: biquad.LowCut, FreqHz: 300, CutDBPerOct: 12})
	synthesised(t, in("through"), seconds, 1, biquad.Filter{Shape: biquad.Bell, FreqHz: 400, GainDB: 2, Q: 1})
	synthesised(t, in("ref"), seconds, 2, shelf(9))
	synthesised(t, in("ref2"), seconds, 3, shelf(8))
	write(t, dir, "broken", []byte("This is a letter, not a recording.\n"))
	write(t, dir, "already", []byte(`{"version":1,"rate_hz":44100,"trim_db":-0.5,"moves":[{"shape":"bell","freq_hz":400,"gain_db":2,"q":1}]}`))
	write(t, dir, "sheet", []byte("render,shape,freq_hz,gain_db,q\n1,bell,1000,4,1\n"))
	write(t, dir, "sheet2", []byte("not a sheet\n"))
	for _, args := range [][]string{
		{"profile", in("ref"), in("ref2"), "-o", in("house.json")},
		{"exercise", in("mix"), "-n", "2", "-o", in("page.html"), "--answers", in("answers.json"), "--part", "0:01-0:05"},
	} {
		ran(t, args...)
	}
	for _, name := range []string{"house", "answers"} {
		if err := os.Rename(in(name+".json"), in(name)); err != nil {
			t.Fatal(err)
		}
	}
}

// namesCases are commands that write; {mix} and the like stand for the inputs. Of those
// that take --plain the names stay out too.
var namesCases = []struct {
	name  string
	args  string
	plain bool
	codes []int // 0 if nil
}{
	{name: "match", plain: true, args: "match {mix} {ref} {ref2} --lead {lead} --loudest 9 -o chart.png -o chart.svg -o page.html -o handout.pdf -o settings.json -o text.txt --with-reference-sound"},
	{name: "match again", plain: true, args: "match {mix} {house} --already {already} -o chart.png -o page.html -o handout.pdf --blank -o settings.json --json"},
	{name: "match pages", plain: true, args: "match {mix} {ref} --already {already} --handout --blank --variant 2 -o page.png -o page.svg -o text.txt"},
	{name: "match alike", plain: true, args: "match {mix} {twin} -o chart.svg -o page.html -o settings.json"},
	{name: "match watch", plain: true, args: "match {mix} {ref} --watch -o chart.png -o settings.json -o text.txt"},
	{name: "check", plain: true, codes: []int{1}, args: "check {mix} {ref} {ref2} --within 1 --before {before} --loudest 9 -o check.png -o check.svg -o check.json -o check.txt"},
	{name: "check json", plain: true, codes: []int{1}, args: "check {mix} {house} --within 1 --before {twin} --json"},
	{name: "class", plain: true, codes: []int{2}, args: "class --ref {ref} --ref {ref2} {mix} {twin} {mix2} {broken} {house} zz-missing.wav -o class.csv -o class.json -o class.html -o class.txt -o all.pdf --pages pages"},
	{name: "class before", plain: true, args: "class --ref {ref} {mix} {mix2} --before {then} -o wall.png -o wall.svg -o then.csv -o then.json -o then.html -o then.txt -o then.pdf --blank"},
	{name: "class json", plain: true, args: "class --ref {house} {mix} --json"},
	{name: "nearest", plain: true, args: "nearest {mix} {ref} {ref2} {mix2} {before} {house}"},
	{name: "nearest json", plain: true, args: "nearest {mix} {ref} {twin} {ref2} {mix2} --json"},
	{name: "tracks", plain: true, args: "tracks {mix} {ref} {bass} {rest} {mix2} --front {rest} -o tracks.png -o tracks.svg -o tracks.pdf -o tracks.html -o tracks.json -o tracks.csv -o tracks.txt"},
	{name: "tracks json", plain: true, args: "tracks {mix} {twin} {bass} {rest} --json"},
	{name: "exercise", plain: true, args: "exercise {mix} -n 2 -o lesson -o page.html -o sheet.pdf --part 0:01-0:05"},
	{name: "exercise json", plain: true, args: "exercise {mix} -n 2 -o lesson --part 0:01-0:05 --json"},
	{name: "exercise moves", plain: true, args: "exercise {mix} --moves {already} -o heard --part 0:01-0:05"},
	{name: "course", plain: true, args: "exercise {mix} -n 1 --course 2 -o lesson -o page.html -o sheet.pdf --part 0:01-0:05"},
	{name: "mark papers", codes: []int{2}, args: "exercise --mark {sheet} {sheet2} --answers {answers} -o marks.pdf -o marks.csv -o marks.json -o marks.txt"},
	{name: "mark", codes: []int{2}, args: "exercise --mark {sheet} {sheet2} --answers {answers}"},
	{name: "mark json", codes: []int{2}, args: "exercise --mark {sheet} {sheet2} --answers {answers} --json"},
	{name: "measure", args: "measure {mix} {ref}"},
	{name: "measure json", args: "measure {mix} {ref} --json"},
	{name: "render json", args: "render {mix} {already} -o moved.wav --impulse moves.wav --json"},
	{name: "profile", args: "profile {ref} {ref2} -o house.json"},
	{name: "profile json", args: "profile {ref} {house} -o house.json --json"},
	{name: "eqread", args: "eqread {mix} {through} --settings {already} -o got.png -o got.svg -o got.json"},
}

// TestNames is that nothing which is written or printed holds the folder of a recording,
// and with --plain no name of one either. Each command that has --plain runs with it in both
// places, with other folders and other names; one that has not runs in both with other
// folders alone. All that is written must be the same, byte for byte: so no picture can hold a word that a search would not
// find. What can be read is searched besides. Errors on stderr may have paths, and the
// answers of an exercise, which stay with the teacher, the mix's name.
func TestNames(t *testing.T) {
	testkit.Skip(t, "two dozen commands in two places")
	inputs, root := t.TempDir(), t.TempDir()
	namesInputs(t, inputs)
	clock := time.Date(2020, 2, 3, 19, 30, 0, 0, time.Local) // of the bounce, which --watch prints
	if err := os.Chtimes(filepath.Join(inputs, "mix"), clock, clock); err != nil {
		t.Fatal(err)
	}
	for _, plain := range []bool{false, true} {
		var paths [2]map[string]string
		for i, p := range placedNames {
			names := placedNames[0].names
			if plain {
				names = p.names
			}
			paths[i] = p.put(t, filepath.Join(root, fmt.Sprint(plain)), inputs, names)
		}
		for _, c := range namesCases {
			if plain && !c.plain {
				continue
			}
			args := c.args
			if plain {
				args += " --plain"
			}
			places := placedNames[:]
			if !plain && c.plain {
				places = places[:1] // searched alone: the two places are compared with --plain
			}
			t.Run(args, func(t *testing.T) {
				var first map[string][]byte
				for i, p := range places {
					got := artefacts(t, strings.Fields(args), paths[i], c.codes)
					for _, name := range slices.Sorted(maps.Keys(got)) {
						answers := strings.HasSuffix(name, exercise.AnswersEnd)
						text := readable(t, name, got[name])
						for _, word := range p.telling(plain && !answers) {
							if strings.Contains(text, strings.ToLower(word)) {
								t.Errorf("%s has %q: …%s…", name, word, around(text, strings.ToLower(word)))
							}
						}
						if first != nil && !answers && !bytes.Equal(got[name], first[name]) {
							t.Errorf("%s depends on where the recordings lie, or on their names", name)
						}
					}
					if first != nil && len(got) != len(first) {
						t.Errorf("wrote %q, in the other place %q", slices.Sorted(maps.Keys(got)), slices.Sorted(maps.Keys(first)))
					}
					first = got
				}
			})
		}
	}
}

// artefacts runs a command in a folder of its own and returns what it has written there,
// and what it printed.
func artefacts(t *testing.T, args []string, paths map[string]string, codes []int) map[string][]byte {
	t.Helper()
	t.Chdir(t.TempDir())
	for i, arg := range args {
		if what, is := strings.CutPrefix(arg, "{"); is {
			args[i] = paths[strings.TrimSuffix(what, "}")]
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	stdout, stderr := &untilRound{cancel: cancel}, bytes.Buffer{}
	code := Run(ctx, args, strings.NewReader(""), stdout, &stderr)
	if code != exitDone && !slices.Contains(codes, code) {
		t.Fatalf("exit code %d: %s", code, &stderr)
	}
	all := map[string][]byte{"stdout": stdout.Bytes()}
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			all[path], err = os.ReadFile(path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// untilRound ends a --watch once its first round is told.
type untilRound struct {
	bytes.Buffer
	cancel func()
}

func (u *untilRound) Write(p []byte) (int, error) {
	n, err := u.Buffer.Write(p)
	if bytes.Contains(u.Bytes(), []byte("with the moves\n     1  ")) {
		u.cancel()
	}
	return n, err
}
