package words_test

import (
	"go/ast"
	"path"

	"toneplumb/spectrum/finding"
)

// errorAdvice is when an error of each kind comes, and what to do about it.
var errorAdvice = map[finding.ErrorKind]advice{
	finding.System:       {"the system or a library refuses: no permission, a full disk, no such port", "Do what the sentence names: permissions, room on the disk, another place. Then run it again."},
	finding.Stopped:      {"it was stopped by Ctrl-C", "Run it again. Nothing half-written is left."},
	finding.SomeFailed:   {"some of several files could not be used", "Each says why above. The others are done."},
	finding.ProgramFault: {"something went wrong that nobody foresaw", "Run it again; if it stays, report the two lines and the command."},
	finding.TooLarge:     {"a file, or what was asked for, is larger than can be handled", "Give a shorter part, or fewer at a time."},

	finding.NotFound:         {"there is no such file or folder", "Check the name and the folder; put names with spaces in quotes."},
	finding.NoStream:         {"the name - was given where a stream will not do", "Name a file."},
	finding.NotARecording:    {"the file is no recording", "Give WAV, AIFF, FLAC, MP3, Ogg or Opus, or a profile."},
	finding.NeedsFFmpeg:      {"only ffmpeg reads this kind of recording", "Install ffmpeg with ffprobe, or convert the file to WAV or FLAC."},
	finding.CannotDecode:     {"a recording in a form that is not read", "Convert it to WAV, 16 or 24 bit."},
	finding.Damaged:          {"nothing can be read of a recording", "Copy or export it again."},
	finding.NoSound:          {"a recording is empty or silent", "Check that the right tracks were on, and export it again."},
	finding.TooLittleMusic:   {"a recording or a part has too little sound", "Give a longer part, a louder one, or the whole song."},
	finding.BeyondEnd:        {"a part reaches beyond the recording's end", "Choose a part that ends sooner."},
	finding.UnusableRate:     {"a sample rate is below 8 or above 192 kHz", "Convert the recording to 44.1 or 48 kHz."},
	finding.RatesDiffer:      {"recordings or settings that belong together have different sample rates", "Bounce all of them from one session at one rate."},
	finding.ChangedMeanwhile: {"a file changed while it was read", "Wait until its bounce is finished, and run it again."},
	finding.NothingToCompare: {"mix and reference have less than an octave in common", "Widen --range, or take another reference."},
	finding.OtherMusic:       {"a file does not hold the music, or the probe, that it should", "Give files of one song that start together; of a probe, its own prints."},
	finding.IsProfile:        {"a profile was given where sound or one recording is needed", "Give the recording itself."},
	finding.PrintName:        {"a print of the probe cannot be told by its name", "Name each as the list of `toneplumb eqtest` does, print-3.wav, and give each once."},
	finding.PrintUnusable:    {"nothing can be learnt from a print of the probe", "Print again as the second line says."},

	finding.OtherVersion:   {"a document is of another version, mostly a newer one", "Use the toneplumb that wrote it, or make the document again."},
	finding.ProfileWrong:   {"a profile is not whole, or was changed by hand", "Make it again from the recordings: `toneplumb profile REFERENCE... -o FILE.json`."},
	finding.SettingsWrong:  {"settings cannot be read", "Give what match wrote with -o settings.json, or mend the field that is named."},
	finding.DoesNotFit:     {"settings or moves do not go with this mix", "Give the settings that the equaliser had when this mix was bounced."},
	finding.EqualiserWrong: {"the description of an equaliser cannot be read", "Mend the field or line that is named; `toneplumb help equalisers` has them all."},
	finding.CurveWrong:     {"a drawn curve cannot be read or is too short", "Write one freq_hz,gain_db a line, frequencies ascending, over an octave at least."},
	finding.SheetWrong:     {"a table that was filled in cannot be read", "Mend the line that is named."},
	finding.PlanWrong:      {"a plan of tracks cannot be read, or is for other files", "Give what tracks wrote with -o plan.json, and the files it was made from."},
	finding.NoPlan:         {"tracks is asked for the mix with its plan, and found no plan", "See what it found; a plan needs another mix of the same song as reference, and something to change."},
	finding.AnswersWrong:   {"answers or marks of ear training cannot be read", "Give the file as exercise wrote it."},
	finding.PasswordWrong:  {"answers are locked, or the password is empty or another", "Give the words that the exercise was written with, by --password."},

	finding.UnknownCommand:   {"there is no command, topic or code of that name", "`toneplumb --help` lists the commands."},
	finding.WrongOption:      {"a command does not have that option, or the option cannot have that value", "`toneplumb help COMMAND` lists its options, with their values."},
	finding.OptionsClash:     {"two options do not go together, or one needs another", "Leave one out, or add the other, as the second line says."},
	finding.FilesNeeded:      {"too few files were given, too many, or others than are needed", "Give those that the second line names."},
	finding.OutputNeeded:     {"no file to write was named", "Name one with -o."},
	finding.UnknownExtension: {"the command writes no form of that extension", "End its name in one of those that the second line lists; `toneplumb help files` says what they hold."},
	finding.OutputTwice:      {"one output is named twice", "Name each once."},
	finding.WouldOverwrite:   {"an output is an input, or something there that is not replaced", "Choose another name, or move what is there away."},
	finding.AnswersInside:    {"the answers would lie in the folder that is handed out", "Name a file beside it with --answers."},
	finding.NotMeasured:      {"on the page a recording is not measured yet", "Wait until it is, or remove it."},
	finding.NotArrived:       {"a recording that was dropped on the page did not arrive whole", "Drop it again."},
	finding.PageOutOfDate:    {"the page asks for what is no longer here", "Reload the page."},
	finding.NotLetIn:         {"another browser, page or machine asked", "Open the address that toneplumb serve printed."},
}

// kind returns the kind of an error: finding.NotFound, a variable set to it, or the kind that finding.KindOf falls back
// to; "" for anything else.
func (s scope) kind(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.SelectorExpr:
		return s.errorKinds[e.Sel.Name]
	case *ast.Ident:
		if value := s.local[e.Name]; value != nil {
			return scope{s.source, s.dir, nil}.kind(value)
		}
	case *ast.CallExpr:
		switch called(e) {
		case "KindOf":
			return s.kind(e.Args[1])
		case "SystemKind":
			return string(finding.NotFound) + " or " + string(finding.System)
		}
	}
	return ""
}

// uses reports whether code outside a package uses one of its names, or the package itself returns it.
func (s *source) uses(pkg, name string) (used bool) {
	s.declarations(func(d ast.Decl, in scope) {
		ast.Inspect(d, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.SelectorExpr:
				of, is := n.X.(*ast.Ident)
				used = used || is && of.Name == pkg && n.Sel.Name == name
			case *ast.ReturnStmt:
				for _, e := range n.Results {
					id, is := e.(*ast.Ident)
					used = used || is && id.Name == name && path.Base(in.dir) == pkg
				}
			}
			return true
		})
	})
	return used
}
