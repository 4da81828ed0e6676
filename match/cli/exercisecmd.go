package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/spectrum/audio"
)

type exerciseOptions struct {
	inputs   []string
	outputs  []string
	count    int
	level    string
	seed     uint64
	part     string
	paper    string
	mark     bool
	answers  string
	password string
	json     bool
	plain    bool // no name of the mix in what students get
}

func newExercise() *cobra.Command {
	var o exerciseOptions
	cmd := &cobra.Command{
		Use:   "exercise MIX",
		Short: "ear training: renders with hidden moves, and their marking",
		Long: `Writes an excerpt of the mix as it is and through hidden moves, all equally loud:
as a folder of WAV files with a sheet to print and one to fill in, as one page
that plays in a browser, or as both. The answers go into a file of their own
beside it, for the teacher: with --password nobody else can open it, without one
whoever has toneplumb can.

With --mark it reads sheets that were filled in, one file a student, and says what
was found, missed and invented.

` + listenCaution,
		Example: `  toneplumb exercise mix.wav -n 12 -o lesson1 --level easy
  toneplumb exercise mix.wav -o page.html -o sheet.pdf --password "three words here"
  toneplumb exercise --mark anna.csv ben.csv --answers lesson1.answers.json`,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.inputs = args
			if cmd.Flags().Changed("password") && strings.TrimSpace(o.password) == "" {
				return fail("give it words, as --password \"three words here\", or leave it out", "--password is empty, and would lock nothing")
			}
			if o.mark {
				for _, flag := range []string{"output", "number", "level", "seed", "part", "paper", "plain"} {
					if cmd.Flags().Changed(flag) {
						return fail("toneplumb exercise --mark SHEET.csv... --answers FILE", "--%s says nothing beside --mark", flag)
					}
				}
				return runMark(cmd.Context(), o, cmd.OutOrStdout())
			}
			return runExercise(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringArrayVarP(&o.outputs, "output", "o", nil, "write the exercise into a folder, which is made, or as one page that\nplays (.html), to `PATH`; also its sheet to print (.pdf)")
	f.IntVarP(&o.count, "number", "n", 12, "`N` renders with hidden moves, 99 at most")
	f.StringVar(&o.level, "level", "medium", "how hard it is: easy, medium or hard, as `WORD`")
	f.Uint64Var(&o.seed, "seed", 1, "another `N` hides other moves")
	f.StringVar(&o.part, "part", "", "hear this `PASSAGE` of the mix, such as 0:45-1:05; the loudest 20 s\nif not given")
	f.StringVar(&o.paper, "paper", defaultPaper, "`SIZE` of the sheet to print: a4 or letter")
	f.BoolVar(&o.mark, "mark", false, "mark the sheets that are named instead of a mix")
	f.StringVar(&o.answers, "answers", "", "the answers, in `FILE`: where to write them, beside the exercise if not\ngiven, or, with --mark, where they are")
	f.StringVar(&o.password, "password", "", "lock the answers with these `WORDS`, or open them")
	addPlain(cmd, &o.plain)
	f.BoolVar(&o.json, "json", false, "print one JSON document instead of text")
	return cmd
}

// listenCaution stands wherever something is to be played. Figures: README.md.
const listenCaution = "Listen at one modest setting of the monitors, start quietly, and rest between\nrenders: 80 dB(A) for 40 hours a week is the limit of ITU-T H.870 and the WHO."

func runExercise(ctx context.Context, o exerciseOptions, stdout, stderr io.Writer) error {
	if len(o.inputs) != 1 {
		return fail("toneplumb exercise MIX -o FOLDER", "one mix is needed, %d files given", len(o.inputs))
	}
	if o.count < 1 || o.count > training.MaxTasks {
		return fail("12 are a good number", "-n %d is not between 1 and %d", o.count, training.MaxTasks)
	}
	level, err := training.ParseLevel(o.level)
	if err != nil {
		return fail("--level easy, medium or hard", "--level: %s", err)
	}
	to, err := o.plan()
	if err != nil {
		return err
	}
	e, err := o.excerpt(ctx, stderr)
	if err != nil {
		return err
	}
	seed, err := o.seedOf(ctx, o.inputs[0])
	if err != nil {
		return err
	}
	names := match.Naming{Plain: o.plain}
	x := exercise{e, &training.Answers{Mix: report.Name(o.inputs[0]), Level: level, Seed: o.seed, RateHz: e.RateHz, FromSec: e.FromSec,
		Tasks: training.DrawTasks(o.count, level, seed)}, names.Name(report.Name(o.inputs[0]), "the mix")}
	done, err := to.write(ctx, x, o)
	if err != nil {
		return err
	}
	if o.json {
		d := exerciseJSON{1, writtenName(to.folder), writtenName(to.page), writtenName(to.sheet), writtenName(to.answers), o.count, string(level), o.seed, report.Number(e.FromSec), report.Number(e.Sec()), nil, nil}
		if to.folder != "" {
			d.LoudLUFS = report.Known(done.loudLUFS)
		}
		if to.page != "" {
			d.PageSec = report.Known(done.pageSec)
		}
		return report.WriteJSON(stdout, d)
	}
	t := &report.TextReport{}
	t.File("mix", x.called, fmt.Sprintf("from %s, %.0f s", audio.Clock(e.FromSec), e.Sec()))
	t.WriteString("\n")
	what := fmt.Sprintf("%d renders with hidden moves, %s, and the plain excerpt", o.count, level)
	if to.folder != "" {
		t.Paragraph("", fmt.Sprintf("%s, each at %s LUFS.", what, report.Level(done.loudLUFS, 1)))
	} else {
		t.Paragraph("", what+", equally loud.")
	}
	if to.page != "" && done.pageSec < e.Sec() {
		t.Paragraph("", fmt.Sprintf("The page plays the first %.1f s, so that it stays under %d MB; fewer renders leave room for more.", done.pageSec, page.MaxBytes/1_000_000))
	}
	keep := "They are sealed against reading by accident, not locked: whoever has toneplumb can open them. --password locks them."
	if o.password != "" {
		keep = "They are locked: without the password nobody opens them. Forgotten, the same command on the same mix with another name writes the exercise again."
	}
	t.Paragraph("", fmt.Sprintf("Give out all but the answers, %s. %s", report.Printable(to.answers), keep))
	t.Paragraph("", listenCaution)
	t.Paragraph("then: ", "toneplumb exercise --mark STUDENT.csv... --answers "+report.Printable(to.answers))
	if to.folder != "" {
		fmt.Fprintf(t, "wrote %s: plain.wav, %s, %s, %s\n", report.Printable(to.folder), rendersWords(o.count), sheetFile, sheetPDF)
	}
	for _, path := range []string{to.page, to.sheet, to.answers} {
		if path != "" {
			fmt.Fprintf(t, "wrote %s\n", report.Printable(path))
		}
	}
	return t.WriteOut(stdout)
}

// writtenName is the name of what was written, "" for nothing.
func writtenName(path string) string {
	if path == "" {
		return ""
	}
	return report.Name(path)
}

// exerciseJSON is what was written, by names without folders.
type exerciseJSON struct {
	Version  int            `json:"version"`
	Folder   string         `json:"folder"`
	Page     string         `json:"page"`
	Sheet    string         `json:"sheet"`
	Answers  string         `json:"answers"`
	Renders  int            `json:"renders"`
	Level    string         `json:"level"`
	Seed     uint64         `json:"seed"`
	FromSec  report.Number  `json:"from_s"`
	Sec      report.Number  `json:"duration_s"`
	LoudLUFS *report.Number `json:"loudness_lufs"` // of the folder's files
	PageSec  *report.Number `json:"page_duration_s"`
}

// seedOf is the seed for the moves in a mix: that of its file, see training.SeedFor.
func (o exerciseOptions) seedOf(ctx context.Context, mix string) (uint64, error) {
	sum, err := audio.SHA256(ctx, mix)
	if err != nil {
		return 0, err
	}
	return training.SeedFor(o.seed, sum), nil
}

// excerpt reads the part that is to be heard.
func (o exerciseOptions) excerpt(ctx context.Context, stderr io.Writer) (e *training.Excerpt, err error) {
	from, to := 0.0, training.ExcerptSec
	if o.part != "" {
		p, err := parsePassages(o.part)
		if err != nil {
			return e, fail("write it as --part 0:45-1:05", "--part: %s", err)
		}
		if len(p) != 1 || p.Sec() > training.MaxExcerptSec {
			return e, fail(fmt.Sprintf("one passage of %.0f s at most, --part 0:45-1:05", training.MaxExcerptSec), "--part %s is too much to hear again and again", p)
		}
		from, to = p[0][0], p[0][1]
	} else {
		src, err := audio.Open(ctx, o.inputs[0])
		if err != nil {
			return e, err
		}
		shown := newProgress(stderr)
		from, err = training.LoudestPart(ctx, shown.watch(src, o.inputs[0]), training.ExcerptSec)
		shown.end()
		src.Close()
		if err != nil {
			return e, err
		}
		to = from + training.ExcerptSec
	}
	src, err := audio.Open(ctx, o.inputs[0])
	if err != nil {
		return e, err
	}
	defer src.Close()
	if e, err = training.NewExcerpt(ctx, src, from, to); err != nil {
		var file *audio.Error
		if errors.As(err, &file) {
			file.Path = o.inputs[0]
			return e, err
		}
		if errors.Is(err, context.Canceled) {
			return e, err
		}
		return e, fail("choose another part with --part, or another mix", "%q %s", o.inputs[0], err)
	}
	return e, nil
}
