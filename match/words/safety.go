package words

// SafeListening is printed wherever something is to be played. Sources: ITU-T H.870 and WHO, Safe
// listening devices and systems (2019); NIOSH, Occupational Noise Exposure (1998); all from
// memory.
const SafeListening = "80 dB(A) for 40 hours a week is the limit of ITU-T H.870 and the WHO for adults, 75 dB(A) for children. " +
	"NIOSH recommends at most 85 dB(A) for 8 hours at work, and half the time for every 3 dB more."

// Listening is the caution shown wherever something is to be played.
const Listening = "Start quietly, stay at one modest monitor setting, and rest between renders. " + SafeListening
