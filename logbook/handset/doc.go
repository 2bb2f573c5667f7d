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
//	hold        rest, from, wrote, show, valid    in: edits in frames → Held
//	prepare     most                              → Prepared: ask until it is done, after the last page
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
//	findings    setUp, day, accepted              → Findings: those, each with its glance.Verdict
//	correct     clip                              → advice.ClipCorrections
//	setUps      day                               → a list of glance.SetUpLine
//	list        scene, day, setUp, camera, clip,
//	            off, from, limit                  → Takes
//	list        kind, setUp, day, deleted,
//	            cursor, limit                     → review.RecordsPage
//	find        text, limit                       → a list of glance.ClipFound, by name or timecode
//	record      kind, record                      → Record
//	history     kind, record                      → review.History
//	conflicts   cursor, limit                     → review.ConflictsPage
//	twins       cursor, limit                     → review.TwinsPage
//	quarantine                                    → review.Quarantine
//	color       reading, reference; sample; or
//	            kind, typed                       → lighting.ReadingColor, cameras.SampleColor
//	learnt      lamp, gel or meter                → what readings taught of it
//	suppose     kind, typed: a white or a
//	            reading                           → glance.Supposed: what it would say of its set-up
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
//
// # Capture
//
// Saving a form waits for no engine: the page makes the edit itself, in TypeScript, and stores
// it. It makes the bytes (logbook/exchange/rows.md, "byte form"), not the readable form, so that the
// store holds one form and hold takes every page of it. All that it must do:
//
//  1. Values are canonical JSON (rows.md): texts by the escapes there; numbers as they were typed,
//     a comma made a point, never through a number of JavaScript, which would lose "5600.0"; members
//     of groups sorted by name in the order of UTF-8 bytes, which is not that of UTF-16.
//  2. set holds the fields that a person touched, and of a new record what the form carried over,
//     sorted the same way. Clearing is null.
//  3. over holds, of each field that is set, the heads that the form showed (form, record), sorted
//     by line and then n, none twice; of a fact, and of a new record, none. A group is one field
//     and written whole.
//  4. In one transaction with durability "strict": read the counter of this start's line, put the
//     edit under n = counter + 1, raise the counter. The line is drawn at the first edit of a start:
//     8 random bytes. An event that the engine made is stored in the same way, and asked for anew
//     where the counter is no longer what it was told.
//  5. at is the device's own clock, offsetMs what the last answer of the service taught (its now
//     less the clock); by who holds the phone; a new record's id a UUID of version 7.
//  6. An act of several edits names the first one's dot in each (act); a form makes one edit.
//  7. "Saved" is said on oncomplete. Then the edit is handed in (hold, wrote), and the engine
//     judges it; what it refuses is told (Held.Marks) and stays.
//  8. What cannot be an edit is caught before: an edit above 65,536 bytes, names above 200 bytes,
//     a lone half of a surrogate pair (made U+FFFD).
//
// testdata/capture.json has rows of what a form holds and the bytes that must come out; a test
// here makes the same of them in Go.
package handset
