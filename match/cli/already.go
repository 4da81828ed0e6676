package cli

import "toneplumb/match"

// readEarlier reads the settings of an earlier round; nil if no file is named.
func readEarlier(path string, plain bool) (*match.Earlier, error) {
	if path == "" {
		return nil, nil
	}
	s, err := readSettings(path)
	if err != nil {
		return nil, err
	}
	names := match.Naming{Plain: plain}
	return &match.Earlier{Path: path, Name: names.Name(nameOf(path), "the earlier round"), Settings: s}, nil
}
