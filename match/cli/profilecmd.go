package cli

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"toneplumb/match/job"

	"github.com/spf13/cobra"

	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/profile"
)

type profileOptions struct {
	inputs  []string
	file    string
	each    string // a folder for a profile of each recording; "": none
	replace bool
	json    bool
}

func newProfile() *cobra.Command {
	var o profileOptions
	cmd := &cobra.Command{
		Use:   "profile REFERENCE... -o FILE.json",
		Short: "keep references without their sound, as one small file",
		Long: `Measures recordings and writes what comparing needs, but no sound, as a profile:
about 24 kB a song. Profiles may be among the inputs; they are joined, and what
is in several is kept once. A profile can then stand wherever a reference does.

For a library --each writes a profile for every recording and skips those that are
there already. Several runs can share the work, and an interrupted one goes on.`,
		Example: `  toneplumb profile records/*.flac -o house.json
  toneplumb profile house.json guest.json new.mp3 -o all.json
  toneplumb profile --each profiles records/*.flac`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return fail(finding.FilesNeeded, "toneplumb profile REFERENCE... -o FILE.json", "at least one recording or profile is needed, none given")
			}
			o.inputs = args
			if o.each != "" {
				return runProfileEach(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
			}
			return runProfile(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringVarP(&o.file, "output", "o", "", "write the profile to `FILE` (.json)")
	f.StringVar(&o.each, "each", "", "write a profile of each recording into `FOLDER`; its name is a hash of\nthe recording, so that none is written twice")
	flags.AddReplace(cmd, &o.replace)
	f.BoolVar(&o.json, "json", false, "print one JSON document instead of text")
	return cmd
}

func runProfile(ctx context.Context, o profileOptions, stdout, stderr io.Writer) error {
	if o.file == "" {
		return fail(finding.OutputNeeded, "toneplumb profile REFERENCE... -o FILE.json", "no file is named for the profile")
	}
	if err := flags.CheckPaths([]string{o.file}, o.inputs, []string{".json"}, o.replace); err != nil {
		return err
	}
	reader, end := terminal.Reader(nil, stderr)
	defer end()
	all, err := reader.Union(ctx, o.inputs...)
	if err != nil {
		return err
	}
	end()
	profile, err := all.Entries()
	if err != nil {
		return fail(finding.TooLarge, "make several profiles of less", "output %q: %s", o.file, err)
	}
	if err := files.Put(ctx, o.replace, []files.File{{Path: o.file, Write: all.Write}}); err != nil {
		return err
	}
	info, err := os.Stat(o.file)
	if err != nil {
		return job.Unreadable(o.file, err)
	}
	if o.json {
		return profileJSON(stdout, profile, report.Name(o.file), info.Size())
	}
	sec := 0.0
	var t report.TextReport
	for i, r := range profile.Recordings() {
		t.File(fmt.Sprint(i+1), r.Name, report.Figures(r, "  "))
		sec += r.DurationSec
	}
	fmt.Fprintf(&t, "\nwrote %s: %s, %s, %.0f kB\n", report.Printable(o.file), words.Count(len(profile), "recording"), audio.Clock(sec), float64(info.Size())/1000)
	return t.WriteOut(stdout)
}

// profileJSON writes what a profile holds as JSON.
func profileJSON(w io.Writer, p profile.Profile, name string, size int64) error {
	type recording struct {
		File      string  `json:"file"`
		SHA256    string  `json:"sha256"`
		DurationS float64 `json:"duration_s"`
	}
	d := struct {
		Version    int         `json:"version"`
		File       string      `json:"file"`
		Bytes      int64       `json:"bytes"`
		Recordings []recording `json:"recordings"`
	}{Version: 1, File: name, Bytes: size}
	for _, e := range p {
		d.Recordings = append(d.Recordings, recording{e.Recording.Name, e.SHA256, e.Recording.DurationSec})
	}
	out := json.NewEncoder(w)
	out.SetIndent("", "  ")
	return out.Encode(d)
}

// runProfileEach writes a profile of each recording into a folder, one after the other, so that
// memory does not grow with their number. It skips profiles that exist, so an interrupted run can
// be repeated. Several runs may share a folder.
func runProfileEach(ctx context.Context, o profileOptions, stdout, stderr io.Writer) error {
	if o.file != "" || o.json {
		return fail(finding.OptionsClash, "join them afterwards: toneplumb profile FOLDER/*.json -o all.json", "--each writes many files, and neither -o nor --json goes with it")
	}
	if o.replace {
		return fail(finding.OptionsClash, "leave --replace out, or name another folder", "with --each what is there is kept, so that an interrupted run goes on")
	}
	if _, err := files.Make(o.each); err != nil {
		return err
	}
	reader, end := terminal.Reader(nil, stderr)
	defer end()
	errs := make([]error, len(o.inputs))
	for i, path := range o.inputs {
		if err := ctx.Err(); err != nil {
			return err
		}
		made, err := profileOne(ctx, reader, path, o.each)
		if errs[i] = err; err == nil {
			fmt.Fprintf(stdout, "%s  %s\n", made, report.Printable(path))
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	end()
	return terminal.SummariseErrors(stderr, errs)
}

// profileOne writes the profile of one recording if it does not exist yet, and returns its name.
func profileOne(ctx context.Context, reader job.Reader, path, folder string) (name string, err error) {
	sum, err := audio.SHA256(ctx, path)
	if err != nil {
		return "", err
	}
	name = eachName(sum, measure.NameOf(path))
	to := filepath.Join(folder, name)
	if _, err := os.Stat(to); err == nil {
		return name, nil
	}
	in, err := reader.Read(ctx, path)
	if err != nil {
		return "", err
	}
	if in.IsProfile {
		return "", &audio.Error{Kind: finding.IsProfile, Path: path, Problem: "is a profile already", Hint: "name recordings alone"}
	}
	in.Entries[0].SHA256 = hex.EncodeToString(sum)
	const sameBytes = true // another run may have made it meanwhile
	return name, files.Put(ctx, sameBytes, []files.File{{Path: to, Write: func(w io.Writer) error { return in.Entries.Write(w, measure.BlockSec) }}})
}

// eachName returns the name of a profile, derived from its content: the SHA-256 of the recording's
// file and, since a profile holds the recording's name, some digits of the name's SHA-256. So the
// same recordings give the same files, in whatever order and by whomever they are measured.
func eachName(sum []byte, name string) string {
	const digits = 8 // our choice: they only distinguish names with the same content
	ofName := sha256.Sum256([]byte(name))
	return hex.EncodeToString(sum) + "-" + hex.EncodeToString(ofName[:])[:digits] + ".json"
}
