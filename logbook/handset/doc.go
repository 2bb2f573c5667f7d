// Package handset is what a phone asks: one call "name, JSON, bytes → JSON, bytes" about one
// production, answered by the rooms below. The page stores, sends and shows; it computes no
// colour and takes no decision of the merge.
//
// Where the service answers the same question, the JSON is the same, byte for byte. Clock,
// chance and the number of the next edit are members of the messages. A message that cannot
// be carried out is answered with a Fault and changes nothing.
//
// "Frames" are parts of bytes, each with its length before it as a uvarint. "now" is the
// device's clock in milliseconds, put right by offsetMs; ids and lines are written as in the
// contract.
//
//	open        production, device, rest          in: a frame for each log that was met → State
//	hold        rest, from, wrote, show           in: edits in frames → Held
//	state       line                              → State
//	form        kind, record or like              → Form
//	judge       kind, fields; or in: an edit      → Judged
//	write       do, kind, record, object, seen    and who writes → Written, edits in frames
//	event       setUp, event                      and who writes → Written, edits in frames
//	undo        kind, record, seen, dot           and who writes → Written, edits in frames
//	settle      twins; correct, patch; discard    and who writes → Written, edits in frames
//	now, plan   setUp                             → glance.SetUpNow, advice.SetUpPlan
//	verdicts    setUp                             → glance.Verdicts: words, times their limits, the light due
//	next        setUp                             → slate.Next: number and clips of the next take
//	match       setUp, camera, to, follow         → advice.Matched
//	deviations  setUp, day, accepted              → a list of deviation.Deviation
//	correct     clip                              → advice.ClipCorrections
//	setUps      day                               → a list of glance.SetUpLine
//	list        scene, day, setUp, camera, clip,
//	            off, from, limit                  → Takes
//	list        kind, setUp, day, deleted,
//	            cursor, limit                     → review.RecordsPage
//	record      kind, record                      → Record
//	history     kind, record                      → review.History
//	conflicts   cursor, limit                     → review.ConflictsPage
//	twins       cursor, limit                     → review.TwinsPage
//	quarantine                                    → review.Quarantine
//	color       reading, reference; sample; or
//	            kind, typed                       → lighting.ReadingColor, cameras.SampleColor
//	learnt      lamp, gel or meter                → what readings taught of it
//	still       the patch, the picture's size     in: four bytes a pixel → cameras.StillReading
//	plane, swatches   setUp, draw                 → the answer; SVG, where draw is true
//	drift       setUp, light, draw, zoneMinutes   → the answer; SVG, where draw is true
//	request     log, whole, most, limitBytes      → Asked, the body in rows
//	answer      line                              in: the body in rows → Taken, two frames
//	bundle      unsent; or in: a bundle           → Bundled, a bundle; or edits in frames
//
// Who writes is said by: by, now, offsetMs, line and n of the next edit, and chance, at least
// 16 bytes in hexadecimal digits that were drawn for this message alone.
//
// What write, event, undo and settle answer is not held: the page stores the edits and raises
// its counter in one transaction, and then hands them in (hold, wrote). Where the counter had
// moved on, because a form saved meanwhile, it asks again. So the engine never knows what the
// phone does not have. Of an answer to an exchange the page stores both frames in one
// transaction: what is known of the log, which goes to open at the next start, and the edits.
//
// A line is used by one start of the page. Once State says lineOver, the page draws another:
// somebody else wrote under it, or named what is not written yet.
package handset
