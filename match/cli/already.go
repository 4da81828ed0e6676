package cli

import "toneplumb/match"

// readEarlier reads the settings of an earlier round; nil if no file is named.
func readEarlier(path string) (*match.Earlier, error) {
	if path == "" {
		return nil, nil
	}
	s, err := readSettings(path)
	if err != nil {
		return nil, err
	}
	return &match.Earlier{Path: path, Settings: s}, nil
}
