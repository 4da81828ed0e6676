package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"toneplumb/match/lesson"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
)

type exerciseOptions struct {
	inputs  []string
	folder  string
	count   int
	level   string
	seed    uint64
	part    string
	mark    bool
	answers string
	json    bool
}

// answersFile and sheetFile are what an exercise's files are called in its folder.
const (
	answersFile = "answers.sealed.json"
	sheetFile   = "sheet.csv"
)

func newExercise() *cobra.Command {
	var o exerciseOptions
	cmd := &cobra.Command{
		Use:   "exercise MIX",
		Short: "ear training: renders with hidden moves, and their marking",
		Long: `Writes a folder with an excerpt of the mix as it is and through hidden moves, all
equally loud; a sheet to fill in; and the answers, sealed so that nobody reads
them by accident. It is a seal, not a lock: whoever has toneplumb can open it.

With --mark it reads sheets that were filled in, one file a student, and says what
was found, missed and invented.

` + listenCaution,
		Example: `  toneplumb exercise mix.wav -n 12 -o lesson1 --level medium
  toneplumb exercise --mark anna.csv ben.csv --answers lesson1/` + answersFile,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.inputs = args
			if o.mark {
				for _, flag := range []string{"output", "number", "level", "seed", "part"} {
					if cmd.Flags().Changed(flag) {
						return fail("toneplumb exercise --mark SHEET.csv... --answers "+answersFile, "--%s says nothing beside --mark", flag)
					}
				}
				return runMark(cmd.Context(), o, cmd.OutOrStdout())
			}
			return runExercise(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringVarP(&o.folder, "output", "o", "", "write the exercise into `FOLDER`, which is made")
	f.IntVarP(&o.count, "number", "n", 12, "`N` renders with hidden moves, 99 at most")
	f.StringVar(&o.level, "level", "medium", "how hard it is: easy, medium or hard, as `WORD`")
	f.Uint64Var(&o.seed, "seed", 1, "another `N` hides other moves")
	f.StringVar(&o.part, "part", "", "hear this `PASSAGE` of the mix, such as 0:45-1:05; the loudest 20 s\nif not given")
	f.BoolVar(&o.mark, "mark", false, "mark the sheets that are named instead of a mix")
	f.StringVar(&o.answers, "answers", "", "the sealed answers, in `FILE`; beside the first sheet if not given")
	f.BoolVar(&o.json, "json", false, "print one JSON document instead of text")
	return cmd
}

// listenCaution stands wherever something is to be played. Figures: README.md.
const listenCaution = "Listen at one modest setting of the monitors, start quietly, and rest between\nrenders: 80 dB(A) for 40 hours a week is the limit of ITU-T H.870 and the WHO."

func runExercise(ctx context.Context, o exerciseOptions, stdout, stderr io.Writer) error {
	switch {
	case len(o.inputs) != 1:
		return fail("toneplumb exercise MIX -o FOLDER", "one mix is needed, %d files given", len(o.inputs))
	case o.folder == "":
		return fail("toneplumb exercise MIX -o FOLDER", "no folder for the exercise was named")
	case o.count < 1 || o.count > lesson.MaxTasks:
		return fail("12 are a good number", "-n %d is not between 1 and %d", o.count, lesson.MaxTasks)
	case o.answers != "":
		return fail("give it together with --mark", "--answers says nothing without --mark")
	}
	level, err := lesson.ParseLevel(o.level)
	if err != nil {
		return fail("--level easy, medium or hard", "--level: %s", err)
	}
	e, err := o.excerpt(ctx, stderr)
	if err != nil {
		return err
	}
	if info, err := os.Stat(filepath.Join(o.folder, answersFile)); err == nil && info != nil {
		return fail("choose another folder, or take the old exercise away", "%q holds an exercise already", o.folder)
	}
	tasks := lesson.DrawTasks(o.count, level, o.seed)
	a := &lesson.Answers{Mix: nameOf(o.inputs[0]), Level: level, Seed: o.seed, RateHz: e.RateHz, FromSec: e.FromSec, Tasks: tasks}
	_, there := os.Stat(o.folder)
	if err := os.MkdirAll(o.folder, 0o755); err != nil {
		return unwritable(o.folder, err)
	}
	var written []string
	undo := func(err error) error { // a failed run leaves no output
		for _, path := range written {
			os.Remove(path)
		}
		if there != nil {
			os.Remove(o.folder)
		}
		return err
	}
	loud := 0.0
	err = e.Renders(tasks, func(i int, r lesson.Rendered) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		loud = r.LoudLUFS
		path := filepath.Join(o.folder, renderName(i))
		if err := writable(path, o.inputs); err != nil {
			return err
		}
		written = append(written, path)
		return writeSound(path, e.RateHz, r.Sound, audio.PCM24)
	})
	if errors.Is(err, lesson.ErrSilent) {
		err = fail("choose another part with --part", "%q %s", o.inputs[0], err)
	}
	if err != nil {
		return undo(err)
	}
	err = putInPlace(ctx, []document{
		{filepath.Join(o.folder, answersFile), a.Seal},
		{filepath.Join(o.folder, sheetFile), func(w io.Writer) error { return lesson.WriteSheet(w, o.count) }},
		{filepath.Join(o.folder, "sheet.txt"), func(w io.Writer) error { return writeHandSheet(w, a) }},
	})
	if err != nil {
		return undo(err)
	}
	if o.json {
		return report.WriteJSON(stdout, struct {
			Version  int           `json:"version"`
			Folder   string        `json:"folder"`
			Renders  int           `json:"renders"`
			Level    string        `json:"level"`
			Seed     uint64        `json:"seed"`
			FromSec  report.Number `json:"from_s"`
			Sec      report.Number `json:"duration_s"`
			LoudLUFS report.Number `json:"loudness_lufs"`
		}{1, o.folder, o.count, string(level), o.seed, report.Number(e.FromSec), report.Number(e.sec()), report.Number(loud)})
	}
	t := &report.Page{}
	t.File("mix", o.inputs[0], fmt.Sprintf("from %s, %.0f s", audio.Clock(e.FromSec), e.sec()))
	t.WriteString("\n")
	t.Paragraph("", fmt.Sprintf("%d renders with hidden moves, %s, and the plain excerpt, each at %s LUFS.", o.count, level, report.Level(loud, 1)))
	t.Paragraph("", fmt.Sprintf("Give out the folder without %s, which holds the answers. It is sealed against reading by accident, not locked.", answersFile))
	t.Paragraph("", listenCaution)
	t.Paragraph("then: ", "toneplumb exercise --mark STUDENT.csv... --answers "+report.Printable(filepath.Join(o.folder, answersFile)))
	fmt.Fprintf(t, "wrote %s: plain.wav, %s to %s, %s, sheet.txt, %s\n", report.Printable(o.folder), renderName(1), renderName(o.count), sheetFile, answersFile)
	return t.WriteOut(stdout)
}

// takenExcerpt is an excerpt with its length.
type takenExcerpt struct{ *lesson.Excerpt }

func (e takenExcerpt) sec() float64 { return float64(len(e.Sound[0])) / float64(e.RateHz) }

func renderName(i int) string {
	if i == 0 {
		return "plain.wav"
	}
	return fmt.Sprintf("render-%02d.wav", i)
}

// excerpt reads the part that is to be heard.
func (o exerciseOptions) excerpt(ctx context.Context, stderr io.Writer) (e takenExcerpt, err error) {
	from, to := 0.0, lesson.ExcerptSec
	if o.part != "" {
		p, err := parsePassages(o.part)
		if err != nil {
			return e, fail("write it as --part 0:45-1:05", "--part: %s", err)
		}
		if len(p) != 1 || p.Sec() > lesson.MaxExcerptSec {
			return e, fail(fmt.Sprintf("one passage of %.0f s at most, --part 0:45-1:05", lesson.MaxExcerptSec), "--part %s is too much to hear again and again", p)
		}
		from, to = p[0][0], p[0][1]
	} else {
		src, err := audio.Open(ctx, o.inputs[0])
		if err != nil {
			return e, err
		}
		shown := newProgress(stderr)
		from, err = lesson.LoudestPart(ctx, shown.watch(src, o.inputs[0]), lesson.ExcerptSec)
		shown.end()
		src.Close()
		if err != nil {
			return e, err
		}
		to = from + lesson.ExcerptSec
	}
	src, err := audio.Open(ctx, o.inputs[0])
	if err != nil {
		return e, err
	}
	defer src.Close()
	if e.Excerpt, err = lesson.NewExcerpt(ctx, src, from, to); err != nil {
		var file *audio.Error
		if errors.As(err, &file) || errors.Is(err, context.Canceled) {
			return e, err
		}
		return e, fail("choose another part with --part, or another mix", "%q %s", o.inputs[0], err)
	}
	return e, nil
}

// writeHandSheet writes the sheet that is filled in with a pen.
func writeHandSheet(w io.Writer, a *lesson.Answers) error {
	t := &report.Page{}
	t.WriteString("What has the equaliser done?\n\nname: ______________________________\n\n")
	moves := map[lesson.Level]string{lesson.Easy: "one move", lesson.Medium: "one or two moves", lesson.Hard: "one to three moves"}[a.Level]
	t.Paragraph("", fmt.Sprintf("plain.wav is a part of %s as it is. Each render has gone through %s of one equaliser: a low shelf, a bell or a high shelf, up or down. All are equally loud, so go by tone. Switch between plain and render as often as you like.", a.Mix, moves))
	t.Paragraph("", "Write down the shape, the frequency, the gain with its sign and, if you can tell, Q. Or fill in sheet.csv, one row for each move.")
	t.WriteString("\n")
	t.Paragraph("", listenCaution)
	t.WriteString("\nrender  shape          frequency     gain        Q\n")
	for i := range a.Tasks {
		fmt.Fprintf(t, "\n%6d  ____________   ___________   _________   ______\n", i+1)
		if a.Level != lesson.Easy {
			t.WriteString("        ____________   ___________   _________   ______\n")
		}
		if a.Level == lesson.Hard {
			t.WriteString("        ____________   ___________   _________   ______\n")
		}
	}
	return t.WriteOut(w)
}
