package plots_test

import (
	"bytes"
	"fmt"
	"image/png"

	"toneplumb/plots"
)

func ExampleFigure_WritePNG() {
	f := plots.Figure{
		Title: "Towards the tone of “Night Ferry”",
		Zones: []plots.Zone{{Name: "lows", FromHz: 56, ToHz: 178}},
		Panels: []plots.Panel{{
			Title: "Difference, reference − mix", YLabel: "dB", ZeroLine: true,
			Curves: []plots.Curve{{
				Name: "difference", FreqHz: []float64{50, 200, 800}, DB: []float64{3, 1, -0.5},
				Style: plots.Style{Weight: plots.Strong},
			}},
			LeftOut: []plots.Span{{FromHz: 16000, ToHz: plots.MaxHz, Why: "above the low-pass of the MP3"}},
		}},
		Table: plots.Table{
			Header: []string{"#", "shape", "frequency", "gain"},
			Rows:   [][]string{{"1", "low shelf", "110 Hz", "+3.1 dB"}},
			Align:  []plots.Align{plots.Right, plots.Left, plots.Right, plots.Right},
		},
	}
	var file bytes.Buffer
	if err := f.WritePNG(&file); err != nil {
		fmt.Println(err)
		return
	}
	picture, err := png.DecodeConfig(&file)
	fmt.Println(picture.Width, picture.Height, err)
	// Output: 1350 990 <nil>
}

func ExampleFigure_WriteSVG() {
	f := plots.Figure{
		Title: "Rise & fall", Dark: true,
		Panels: []plots.Panel{{YLabel: "dB", Curves: []plots.Curve{{FreqHz: []float64{50, 800}, DB: []float64{3, -1}}}}},
	}
	var file bytes.Buffer
	if err := f.WriteSVG(&file); err != nil {
		fmt.Println(err)
		return
	}
	lines := bytes.SplitN(file.Bytes(), []byte("\n"), 3)
	fmt.Printf("%s\n%s\n", lines[0], lines[1])
	// Output:
	// <svg xmlns="http://www.w3.org/2000/svg" width="9.0000in" height="6.6000in" viewBox="0 0 1350 990" role="img">
	// <title>Rise &amp; fall</title>
}
