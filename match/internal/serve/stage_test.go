package serve

import "testing"

// Another mix begins at the usual stage, also where the one before was taken away first; a new bounce keeps the stage.
func TestStageOfAnotherMix(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	finished := func() {
		b.set("#stage", "finished")
		b.Want("the stage", `app.fields.stage + byId("stage").value`, "finishedfinished")
	}
	finished()
	b.dropAs("mix", "second.wav", onDisk(t, sound(t, 24, 4, faults...)))
	b.Until(`fileOf(app.mix)?.name === "second.wav" && ` + settled)
	b.Want("with another mix", `app.fields.stage + byId("stage").value`, "roughrough")
	finished()
	b.Text(`(removeFile(fileOf(app.mix)), 0)`)
	b.dropAs("mix", "third.wav", onDisk(t, sound(t, 24, 5, faults...)))
	b.Until(`fileOf(app.mix)?.name === "third.wav" && ` + settled)
	b.Want("after the mix was taken away", `app.fields.stage + byId("stage").value`, "roughrough")
	b.Quiet()
}
