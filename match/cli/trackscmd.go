package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"runtime"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/plots"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// tracksOptions is everything `tracks` can be told.
type tracksOptions struct {
	mix, reference string
	tracks         []string
	front, back    []string
	files          []string
	json, plain    bool
	solve          match.SolveOptions
}

func newTracks() *cobra.Command {
	o := tracksOptions{solve: match.DefaultSolve()}
	cmd := &cobra.Command{
		Use:   "tracks MIX REFERENCE TRACK...",
		Short: "which single track carries it, and which stand in one another's way",
		Long: `Reads single tracks of the mix in step with it and tells for each move whether
it belongs on the master or on one track, which tracks hold the same zone at the
same time, and what keeps their loudness. The tracks must start with the mix and
stand as they do in it: bounced behind their faders and pans, at the mix's rate.`,
		Example: `  toneplumb tracks rough-mix.wav reference.flac stems/*.wav
  toneplumb tracks rough-mix.wav reference.flac bass.wav voice.wav keys.wav --front voice
  toneplumb tracks rough-mix.wav reference.flac stems/*.wav -o tracks.png --json`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) < 3 {
				return fail("toneplumb tracks MIX REFERENCE TRACK...", "a mix, a reference and at least one track are needed, %d given", len(args))
			}
			o.mix, o.reference, o.tracks = args[0], args[1], args[2:]
			if err := o.solve.Check(); err != nil {
				return fail("see toneplumb tracks --help", "%s", err)
			}
			return runTracks(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&o.front, "front", nil, "track `NAME` is to stand in front; may be given more than once")
	f.StringArrayVar(&o.back, "back", nil, "track `NAME` is to stand behind; may be given more than once")
	f.StringArrayVarP(&o.files, "output", "o", nil, "also write `FILE`: a chart .png, .svg or .pdf, a page .html, a document .json,\na table .csv, text .txt; may be given more than once")
	f.BoolVar(&o.json, "json", false, "print one JSON document instead of text")
	addPlain(cmd, &o.plain)
	f.IntVar(&o.solve.MaxMoves, "moves", o.solve.MaxMoves, "at most `N` moves")
	f.Var(&number{&o.solve.TowardPercent, readPercent}, "toward", "go `PERCENT` of the way to the reference")
	return cmd
}

// tracksWriters by extension.
var tracksWriters = map[string]func(io.Writer, *tracks.Advice) error{
	".png":  func(w io.Writer, a *tracks.Advice) error { return tracksChart(a).WritePNG(w) },
	".svg":  func(w io.Writer, a *tracks.Advice) error { return tracksChart(a).WriteSVG(w) },
	".pdf":  func(w io.Writer, a *tracks.Advice) error { return plots.WritePDF(w, tracksChart(a)) },
	".html": nil, // a page plays: see runTracks
	".json": tracksJSON,
	".csv":  tracksCSV,
	".txt":  tracksText,
}

func runTracks(ctx context.Context, o tracksOptions, stdout, stderr io.Writer) error {
	inputs := append([]string{o.mix, o.reference}, o.tracks...)
	type kept struct {
		path  string
		write func(io.Writer, *tracks.Advice) error
	}
	var outputs []kept
	for _, path := range o.files {
		write, known := tracksWriters[extension(path)]
		if !known {
			return fail("end it in .png, .svg, .pdf, .html, .json, .csv or .txt", "output %q: its extension names no format", path)
		}
		if err := writable(path, inputs); err != nil {
			return err
		}
		for _, other := range outputs {
			if samePath(other.path, path) {
				return fail("name each output once", "output %q is named twice", path)
			}
		}
		outputs = append(outputs, kept{path, write})
	}
	placing, err := o.placing()
	if err != nil {
		return err
	}
	if looksLikeProfile(o.mix) {
		return fail("give the mix's recording", "%q is a profile, and single tracks are read beside the sound of the mix", o.mix)
	}
	keeper := audio.NewKeeper(o.mix) // which is read beside every group of tracks and every move
	defer keeper.Close()
	sides, err := readThrough(ctx, keeper.Open, []string{o.mix, o.reference}, stderr)
	if err != nil {
		return err
	}
	names := &match.Naming{Plain: o.plain}
	mix, references := names.Mix(sides[0].entries[0].Recording), names.References(asReferences(sides[1:]))
	result, err := interruptible(ctx, func() (*match.Result, error) {
		c, err := match.Compare(mix, references, match.DefaultCompare())
		if err != nil {
			return nil, err
		}
		return c.Solve(o.solve), nil
	})
	if err != nil {
		return err
	}
	advice, err := o.advise(ctx, keeper.Open, result, placing, stderr)
	if err != nil {
		return err
	}
	var documents []document
	for _, out := range outputs {
		if out.write == nil {
			sound, err := soundOf(ctx, keeper.Open, matchOptions{}, nil, result, stderr)
			if err != nil {
				return err
			}
			out.write = func(w io.Writer, a *tracks.Advice) error { return page.Write(ctx, w, result, sound, tracksPart(a)) }
		}
		documents = append(documents, document{out.path, func(w io.Writer) error { return out.write(w, advice) }})
	}
	if err := putInPlace(ctx, documents); err != nil {
		return err
	}
	if o.json {
		return tracksJSON(stdout, advice)
	}
	if err := tracksText(stdout, advice); err != nil {
		return err
	}
	for _, out := range outputs {
		fmt.Fprintf(stdout, "wrote %s\n", report.Printable(out.path))
	}
	return nil
}

// advise reads the tracks in step with the mix, on all cores, and those that are to be moved
// once more through their moves.
func (o *tracksOptions) advise(ctx context.Context, opened opener, result *match.Result, placing tracks.Options, stderr io.Writer) (*tracks.Advice, error) {
	shown := newProgress(stderr)
	defer shown.end()
	mix := result.Mix
	open := func(ctx context.Context, path string) (audio.Source, error) {
		src, err := opened(ctx, path)
		if err != nil || path == mix.Path {
			return src, err
		}
		return shown.watch(src, path), nil
	}
	together, err := measure.InStep(ctx, open, mix.Path, mix.GateWeights(), o.tracks, runtime.GOMAXPROCS(0))
	if err != nil {
		return nil, err
	}
	advice, err := interruptible(ctx, func() (*tracks.Advice, error) {
		return tracks.Advise(result, together, placing), nil
	})
	if err != nil {
		return nil, err
	}
	return advice, advice.Measure(ctx, open, runtime.GOMAXPROCS(0))
}

// placing finds the tracks that were named with --front and --back.
func (o *tracksOptions) placing() (tracks.Options, error) {
	placing := tracks.Options{Plain: o.plain}
	for _, side := range []struct {
		option string
		names  []string
		to     *[]int
	}{{"--front", o.front, &placing.Front}, {"--back", o.back, &placing.Back}} {
		for _, name := range side.names {
			found := false
			for i, path := range o.tracks {
				if name == path || name == filepath.Base(path) || name == tracks.NameOf(path) {
					*side.to, found = append(*side.to, i), true
				}
			}
			if !found {
				return placing, fail("name one of the tracks, by its file or without the extension", "%s %q names none of the tracks", side.option, name)
			}
		}
	}
	for _, i := range placing.Front {
		for _, j := range placing.Back {
			if i == j {
				return placing, fail("name it once", "%q is to stand in front and behind", o.tracks[i])
			}
		}
	}
	return placing, nil
}
