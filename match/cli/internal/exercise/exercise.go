package exercise

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/match/training/papers"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

type exerciseOptions struct {
	stdin    io.Reader
	inputs   []string
	outputs  []string
	count    int
	hard     string // difficulty
	seed     uint64
	course   int // lessons, 0 for none
	lesson   int // of a course; 0 for all
	after    string
	moves    string // settings whose moves are to be heard one by one
	part     string
	paper    string
	mark     bool
	before   []string // marks of earlier lessons
	answers  string
	password string
	replace  bool
	json     bool
	plain    bool // leave the mix's name out of what students get
}

// New returns the command exercise.
func New() *cobra.Command {
	var o exerciseOptions
	cmd := &cobra.Command{
		Use:   "exercise MIX",
		Short: "ear training: renders with hidden moves, and their marking",
		Long: `Writes an excerpt of the mix as it is and through hidden moves, all equally loud.
It writes a folder of WAV files with a sheet to print and one to fill in, or one
page that plays in a browser, or both. On the page students also practise with
answers at once, and hear each zone of the mix alone. The answers go into a file of
their own, for the teacher. With --password nobody else can open it; without one,
anyone with toneplumb can.

The moves are spread over zones, shapes, boosts and cuts, and are as audible in this
mix as the difficulty says; the sheet says how much that is. --course makes lessons
that grow harder; what a class missed comes back with --after.

With --moves it writes what each move of a settings document does: the excerpt
before it and after it, one move after another, as a folder of WAV files.

With --mark it reads sheets that were filled in, one file a student. It says what
was found, taken for something else, missed and invented. -o writes that down, and a
page for each student. Step by step:
1. A student copies sheet.csv to a name of his or her own, anna.csv, and fills it in
   with a spreadsheet or a text editor: a row such as 3,bell,1000,+4,1 for render 3.
   The shapes are low-shelf, bell and high-shelf; q may stay empty, and so may the
   row of a render in which nothing was heard. It is saved as .csv, not as the
   spreadsheet's own kind of file. On the page: fill in, type the name, save.
2. Put all sheets into one folder, such as sheets, beside the answers.
3. toneplumb exercise --mark sheets/*.csv --answers lesson1.answers.json -o marks.pdf

` + listenCaution,
		Example: `  toneplumb exercise mix.wav -n 12 -o lesson1 --difficulty easy
  toneplumb exercise mix.wav -o page.html -o sheet.pdf --password "three words here"
  toneplumb exercise --mark anna.csv ben.csv --answers lesson1.answers.json -o marks.json -o marks.pdf
  toneplumb exercise mix.wav --course 8 --lesson 2 --after marks.json -o term
  toneplumb exercise mix.wav --moves settings.json -o heard`,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.inputs, o.stdin = args, cmd.InOrStdin()
			mode, err := o.mode(cmd)
			if err != nil {
				return err
			}
			return mode(o, cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringArrayVarP(&o.outputs, "output", "o", nil, "write the exercise into a folder, which is made, or as one page that\nplays (.html), to `PATH`; also its sheet to print (.pdf). With --mark:\n.txt, .csv, .json, and a page for each student .pdf")
	f.IntVarP(&o.count, "number", "n", 12, "`N` renders with hidden moves, 99 at most")
	f.StringVar(&o.hard, "difficulty", "medium", "how hard it is: easy, medium or hard, as `WORD`")
	f.IntVar(&o.course, "course", 0, "write `N` lessons that grow harder, each with its number in the names")
	f.IntVar(&o.lesson, "lesson", 0, "write lesson `K` of the course alone")
	f.StringVar(&o.after, "after", "", "let come back what was missed, by the marks in `FILE` (.json)")
	f.StringVar(&o.moves, "moves", "", "write what each move of the settings `FILE` (.json) does, before and after,\ninto a folder")
	f.Uint64Var(&o.seed, "seed", 1, "another `N` hides other moves")
	f.StringVar(&o.part, "part", "", "play this `PART` of the mix, such as 0:45-1:05; the loudest 20 s\nif not given")
	f.StringVar(&o.paper, "paper", flags.DefaultPaper, "`SIZE` of the sheet to print: a4 or letter")
	f.BoolVar(&o.mark, "mark", false, "mark the sheets that are named instead of a mix")
	f.StringArrayVar(&o.before, "before", nil, "with --mark, the marks of an earlier lesson in `FILE` (.json); may be\ngiven more than once, the first lesson first")
	f.StringVar(&o.answers, "answers", "", "the answers, in `FILE`: where to write them, beside the exercise if not\ngiven, or, with --mark, where they are")
	f.StringVar(&o.password, "password", "", "lock the answers with these `WORDS`, or open them")
	flags.AddReplace(cmd, &o.replace)
	flags.AddPlain(cmd, &o.plain)
	f.BoolVar(&o.json, "json", false, "print one JSON document instead of text")
	return cmd
}

// mode returns what the flags ask for, and an error for one that says nothing beside the others.
func (o exerciseOptions) mode(cmd *cobra.Command) (func(exerciseOptions, context.Context, io.Writer, io.Writer) error, error) {
	given := func(flags ...string) string {
		i := slices.IndexFunc(flags, func(flag string) bool { return cmd.Flags().Changed(flag) })
		if i < 0 {
			return ""
		}
		return flags[i]
	}
	switch {
	case given("password") != "" && strings.TrimSpace(o.password) == "":
		return nil, job.Fail(finding.PasswordWrong, "give it words, as --password \"three words here\", or leave it out", "--password is empty, and would lock nothing")
	case o.moves != "":
		if flag := given("mark", "number", "difficulty", "seed", "course", "lesson", "after", "before", "answers", "password", "paper", "replace"); flag != "" {
			return nil, job.Fail(finding.OptionsClash, "toneplumb exercise MIX --moves settings.json -o FOLDER", "--%s says nothing beside --moves", flag)
		}
		return exerciseOptions.runMoves, nil
	case o.mark:
		if flag := given("number", "difficulty", "seed", "part", "plain", "course", "lesson", "after"); flag != "" {
			return nil, job.Fail(finding.OptionsClash, "toneplumb exercise --mark SHEET.csv... --answers FILE", "--%s says nothing beside --mark", flag)
		}
		return exerciseOptions.runMark, nil
	case o.replace:
		return nil, job.Fail(finding.OptionsClash, "choose another name, or take the old exercise away", "--replace is for marks: an exercise replaces nothing, since its sheets and answers may still be needed")
	case given("before") != "":
		return nil, job.Fail(finding.OptionsClash, "earlier marks for a new lesson are given with --after", "--before says nothing without --mark")
	case o.course > 0 && given("difficulty") != "":
		return nil, job.Fail(finding.OptionsClash, "leave one of them out", "a course has its own difficulties, and --difficulty is given too")
	case o.lesson != 0 && o.course == 0:
		return nil, job.Fail(finding.OptionsClash, "--course 8 --lesson 2", "--lesson says nothing without --course")
	}
	return exerciseOptions.run, nil
}

// listenCaution is shown wherever something is to be played.
var listenCaution = flags.Wrapped(words.Listening)

func (o exerciseOptions) run(ctx context.Context, stdout, stderr io.Writer) error {
	if len(o.inputs) != 1 {
		return job.Fail(finding.FilesNeeded, "toneplumb exercise MIX -o FOLDER", "one mix is needed, %d given", len(o.inputs))
	}
	if o.count < 1 || o.count > training.MaxTasks {
		return job.Fail(finding.WrongOption, "12 are a good number", "-n %d is not between 1 and %d", o.count, training.MaxTasks)
	}
	lessons, err := o.lessons()
	if err != nil {
		return err
	}
	var to []exercisePaths
	for _, l := range lessons {
		paths, err := o.plan(l.suffix)
		if err != nil {
			return err
		}
		to = append(to, paths)
	}
	q := job.ExerciseRequest{Path: o.inputs[0], Name: report.Name(o.inputs[0]), Renders: o.count, Number: o.seed}
	if q.Missed, err = o.missed(); err != nil {
		return err
	}
	for _, l := range lessons {
		q.Lessons = append(q.Lessons, l.Rules)
	}
	if q.Part, err = o.passage(); err != nil {
		return err
	}
	reader, end := terminal.Reader(nil, stderr)
	e, answers, err := reader.Exercises(ctx, q)
	end()
	if err != nil {
		return o.unfit(err)
	}
	called := o.called()
	d := exerciseJSON{Version: 2, Seed: o.seed, FromSec: report.Number(e.FromSec), Sec: report.Number(e.Sec()), Lessons: []lessonJSON{}}
	t := &report.TextReport{}
	t.File("mix", called, fmt.Sprintf("from %s, %.0f s", audio.Clock(e.FromSec), e.Sec()))
	for i, a := range answers {
		x := exercise{e, a, called}
		done, err := to[i].write(ctx, x, o)
		if err != nil {
			return err
		}
		d.Lessons = append(d.Lessons, to[i].json(x, done))
		to[i].report(t, x, done)
	}
	if o.json {
		return report.WriteJSON(stdout, d)
	}
	if !o.plain && (to[0].folder != "" || to[0].sheet != "") {
		flags.ReportBoxes(t, o.inputs[0])
	}
	o.reportNext(t, to)
	return t.WriteOut(stdout)
}

// called returns the name of the mix, or what stands for it.
func (o exerciseOptions) called() string {
	names := match.Naming{Plain: o.plain}
	return names.Name(report.Name(o.inputs[0]), "the mix")
}

// lessonRules are the rules of a lesson and the suffix of its files' names.
type lessonRules struct {
	training.Rules
	suffix string
}

// lessons returns the lessons to write: one, or those of a course.
func (o exerciseOptions) lessons() ([]lessonRules, error) {
	if o.course == 0 {
		d, err := training.ParseDifficulty(o.hard)
		if err != nil {
			return nil, job.Fail(finding.WrongOption, "--difficulty easy, medium or hard", "--difficulty: %s", err)
		}
		return []lessonRules{{d.Rules(), ""}}, nil
	}
	if o.course < 1 || o.course > training.MaxCourse {
		return nil, job.Fail(finding.WrongOption, "8 are a term", "--course %d is not between 1 and %d", o.course, training.MaxCourse)
	}
	if o.lesson < 0 || o.lesson > o.course {
		return nil, job.Fail(finding.WrongOption, "the first is --lesson 1", "there is no lesson %d in a course of %d", o.lesson, o.course)
	}
	var all []lessonRules
	for k := 1; k <= o.course; k++ {
		if o.lesson == 0 || o.lesson == k {
			all = append(all, lessonRules{training.Lesson(k, o.course), fmt.Sprintf("-%d", k)})
		}
	}
	return all, nil
}

// missed returns the kinds of moves that a class missed, from the marks in --after.
func (o exerciseOptions) missed() ([]training.Kind, error) {
	if o.after == "" {
		return nil, nil
	}
	marked, err := readMarked(o.after, o.stdin)
	if err != nil {
		return nil, err
	}
	return papers.Missed([]*papers.Marked{marked}), nil
}

func readMarked(path string, stdin io.Reader) (*papers.Marked, error) {
	return job.ReadDocument(path, stdin, finding.AnswersWrong, "toneplumb exercise --mark SHEET.csv... --answers FILE -o marks.json writes one", papers.ReadMarked)
}

// passage returns the part to be heard, nil for the loudest.
func (o exerciseOptions) passage() (measure.Passages, error) {
	if o.part == "" {
		return nil, nil
	}
	p, err := flags.ParsePassages(o.part)
	if err != nil {
		return nil, job.Fail(finding.WrongOption, "write it as --part 0:45-1:05", "--part: %s", err)
	}
	if len(p) != 1 || p.Sec() > training.MaxExcerptSec {
		return nil, job.Fail(finding.TooLarge, fmt.Sprintf("one part of %.0f s at most, --part 0:45-1:05", training.MaxExcerptSec), "--part %s is too much to hear again and again", p)
	}
	return p, nil
}
