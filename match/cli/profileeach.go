package cli

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// runProfileEach writes a profile of each recording into a folder, one after the other, so
// that memory does not grow with their number. What is there already is left out: whoever
// was interrupted runs it again. Several runs may share a folder.
func runProfileEach(ctx context.Context, o profileOptions, stdout, stderr io.Writer) error {
	if o.file != "" || o.json {
		return fail("join them afterwards: toneplumb profile FOLDER/*.json -o all.json", "--each writes many files, and neither -o nor --json goes with it")
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
	return terminal.Unread(stderr, errs)
}

// profileOne writes the profile of one recording, if it is not there yet. It returns its
// name.
func profileOne(ctx context.Context, reader job.Reader, path, folder string) (name string, err error) {
	if _, err := os.Stat(path); err != nil {
		_, err := audio.Open(ctx, path) // it has the words
		return "", err
	}
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
		return "", &audio.Error{Path: path, Problem: "is a profile already", Hint: "name recordings alone"}
	}
	in.Entries[0].SHA256 = hex.EncodeToString(sum)
	return name, files.Put(ctx, []files.File{{Path: to, Write: func(w io.Writer) error { return in.Entries.Write(w, measure.BlockSec) }}})
}

// eachName names a profile by what is in it: the SHA-256 of the recording's file and, since
// a profile holds the recording's name, some digits of that of the name. So the same files
// come of the same recordings, whoever measures which of them first.
func eachName(sum []byte, name string) string {
	const digits = 8 // our choice: told apart are names of one content alone
	ofName := sha256.Sum256([]byte(name))
	return hex.EncodeToString(sum) + "-" + hex.EncodeToString(ofName[:])[:digits] + ".json"
}
