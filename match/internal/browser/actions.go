package browser

import "strings"

// Actions as W3C WebDriver has them (Level 2, section "Actions"); WebDriver BiDi takes the same.

type action map[string]any

// keyActions presses keys one after the other, and holds Shift until the end.
func keyActions(keys string) []action {
	var steps []action
	for _, key := range strings.NewReplacer("\t", "\uE004", "\r", Enter, "\n", Enter).Replace(keys) {
		steps = append(steps, action{"type": "keyDown", "value": string(key)})
		if string(key) != Shift {
			steps = append(steps, action{"type": "keyUp", "value": string(key)})
		}
	}
	if strings.Contains(keys, Shift) {
		steps = append(steps, action{"type": "keyUp", "value": Shift})
	}
	return []action{{"type": "key", "id": "keys", "actions": steps}}
}

// mouseActions moves the mouse through places, in CSS pixels of the window, and holds the button
// from the first to the last.
func mouseActions(places [][2]float64) []action {
	var steps []action
	for i, place := range places {
		steps = append(steps, action{"type": "pointerMove", "duration": 0, "x": int(place[0]), "y": int(place[1])})
		if i == 0 {
			steps = append(steps, action{"type": "pointerDown", "button": 0})
		}
	}
	steps = append(steps, action{"type": "pointerUp", "button": 0})
	return []action{{"type": "pointer", "id": "mouse", "parameters": action{"pointerType": "mouse"}, "actions": steps}}
}
