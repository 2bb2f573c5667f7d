//go:build mutants

package logbook_test

func inEngine(name string) place   { return place{"logbook", name} }
func inKinds(name string) place    { return place{"logbook/kinds", name} }
func inExchange(name string) place { return place{"logbook/exchange", name} }
func inBolt(name string) place     { return place{"logbook/bolt", name} }
func inAmend(name string) place    { return place{"logbook/amend", name} }
func inSetup(name string) place    { return place{"logbook/setup", name} }
func inOff(name string) place      { return place{"logbook/deviation", name} }
func inDays(name string) place     { return place{"logbook/days", name} }
func inServer(name string) place   { return place{"server", name} }

var (
	schedules = inExchange("TestSchedulesOfFaults")
	oneForm   = inEngine("TestAnEditHasOneByteForm")
	waits     = inExchange("TestADeviceKeepsWhatWaitsForAnOwnerAndDoesNotOfferItForEver")
	crashes   = inServer("TestNothingAcknowledgedIsLostInACrash")
	traced    = inBolt("TestPromisesWaitForTheDisk")
	promises  = inBolt("TestStoreKeepsThePromises")
)

// mutants are the rules. Where another test than the schedules stands, schedules
// cannot show it: a cursor that leads nowhere always comes with a run that is new to
// the device; the oracle asks the same judge; and they keep everything in memory.
// The crash test kills the process, not the machine: whether the disk was asked to
// sync, a trace of system calls shows.
var mutants = []mutant{
	// Lines.
	{"a phone goes on in its line after a start", inExchange("replica.go"), []swap{{`		r.line = r.draw()
`, `		for line, s := range r.own.Spans(logbook.Dot{}) {
			if s.To > r.n {
				r.line, r.n = line, s.To
			}
		}
		if r.n == 0 {
			r.line = r.draw()
		}
`}}, schedules},
	{"a server goes on in its line after a start", inEngine("log.go"), []swap{{`l.line, l.n = l.draw(), 0`, `head, _ := l.store.Head(l.production)
		l.line, l.n = head.Identity, 0
		for l.book.Held(Dot{l.line, l.n + 1}) {
			l.n++
		}`}}, schedules},
	{"a server goes on in its line after a write that failed", inEngine("log.go"), []swap{{`		l.line = Line{} // whether it was written is unknown: never again under these dots
`, `		l.n -= uint64(len(edits))
`}}, inEngine("TestChange")},
	{"a device stays in a line of which a dot is held with other bytes", inExchange("replica.go"), []swap{{`	if line == r.line {`, `	if line == r.line && false {`}}, schedules},
	{"a device writes under a dot that it knows is taken", inExchange("replica.go"), []swap{{`	if e.Dot.N > r.n {
		r.leave(e.Dot.Line)
	}
`, ``}}, schedules},
	{"a device writes under a dot that it saw named", inExchange("replica.go"), []swap{{`		if d.N > r.n {
			r.leave(d.Line)
		}
`, `		_ = d
`}}, inExchange("TestReplica")},
	{"an edit under a dot that is held is a repeat, whatever its bytes", inEngine("memory.go"), []swap{{`if l.edits[at].Hash != e.Hash {`, `if false {`}}, inExchange("TestExchange")},
	{"a clash is reported and not kept aside", inEngine("memory.go"), []swap{{`	l.crowd.Add(e)
	l.clashes = append(l.clashes, e)
`, ``}}, schedules},
	{"another edit under an own dot is not looked at when it is pulled", inExchange("replica.go"), []swap{{`r.book.Held(e.Dot) && !sameEdit(r.book.Edit(e.Dot), e) {`, `r.book.Held(e.Dot) && false {`}}, inExchange("TestReplica")},

	// The one byte form, which is an edit's identity.
	{"bytes behind an edit's end are passed over", inEngine("codec.go"), []swap{{`if r.bad || r.at != len(r.in) {`, `if r.bad {`}}, oneForm},
	{"a form to come is read as this one", inEngine("codec.go"), []swap{{`if len(b) > 0 && b[0] != editForm {`, `if false {`}}, oneForm},
	{"an edit may be of any size", inEngine("codec.go"), []swap{{`	if len(b) > MaxEdit {
		return formError(`, `	if len(b) < 0 {
		return formError(`}}, oneForm},
	{"a number may take more bytes than it needs", inEngine("codec.go"), []swap{{`shift == 63 && c > 1 || shift > 0 && c == 0`, `shift == 63 && c > 1`}}, oneForm},
	{"of a number over 64 bits the rest is dropped", inEngine("codec.go"), []swap{{`shift == 63 && c > 1 || shift > 0 && c == 0`, `shift > 0 && c == 0`}}, oneForm},
	{"parts are counted on trust", inEngine("codec.go"), []swap{{`if r.bad || n > uint64((len(r.in)-r.at)/least) {`, `if _ = least; r.bad {`}}, oneForm},
	{"fields may stand in any order", inEngine("codec.go"), []swap{{`if i > 0 && e.Set[i-1].Field >= e.Set[i].Field {`, `if false {`}}, oneForm},
	{"names in over may stand in any order", inEngine("codec.go"), []swap{{`if !over[j-1].Less(over[j]) {`, `if false {`}}, oneForm},
	{"a name in over may have n 0", inEngine("codec.go"), []swap{{`		if d.IsZero() {
			return formError("field`, `		if false {
			return formError("field`}}, oneForm},
	{"members may stand in any order", inEngine("codec.go"), []swap{{`if e.Extra[i-1].Name >= e.Extra[i].Name {`, `if false {`}}, oneForm},
	{"known members may stand among the others", inEngine("codec.go"), []swap{{`if knownMembers[m.Name] {`, `if false {`}}, oneForm},
	{"an act of the own line may name the line", inEngine("codec.go"), []swap{{`		if e.Act.Line == e.Dot.Line {
			r.bad = true
		}
`, ``}}, oneForm},
	{"an act may have n 0", inEngine("codec.go"), []swap{{`if e.Act.N = r.uvarint(); e.Act.N == 0 {`, `if e.Act.N = r.uvarint(); false {`}}, oneForm},
	{"a value may be spelled in any way", inEngine("codec.go"), []swap{{`if canonical != v {`, `if _ = canonical; false {`}}, oneForm},
	{"a text may be no UTF-8", inEngine("codec.go"), []swap{{`len(name) > maxName || !utf8.ValidString(name)`, `len(name) > maxName || !utf8.ValidString("")`}}, oneForm},
	{"a time may lie outside the years that can be written", inEngine("codec.go"), []swap{{`if e.At < 0 || e.At >= YearTenThousand ||`, `if false &&`}}, oneForm},
	{"an edit may set no field", inEngine("codec.go"), []swap{{`if len(e.Set) == 0 {`, `if false {`}}, oneForm},

	// What a device knows of a log.
	{"a new run voids nothing: the list is not sent", inExchange("parts.go"), []swap{{`out.Reset || req.Run != p.Run()`, `out.Reset`}}, schedules},
	{"the list is sent at a new run only, not at a reset", inExchange("parts.go"), []swap{{`out.Reset || req.Run != p.Run()`, `req.Run != p.Run()`}}, inExchange("TestExchange")},
	{"of a list that is told in parts, what was not told yet counts as lacking", inExchange("known_log.go"), []swap{{`return k.listed == (logbook.Dot{}) || !k.listed.Less(d)`, `return true`}}, inExchange("TestAListInParts")},
	{"the last part of a list is never asked for", inExchange("known_log.go"), []swap{{`Parts: true, ListBehind: k.listed}`, `Parts: true}`}}, inExchange("TestAfterARestoreEachGetsWhatItLacks")},
	{"what a restored log holds and the device lacks is not asked for", inExchange("known_log.go"), []swap{{`		req.Want = k.wants(b, mostWanted)
`, ``}}, schedules},
	{"what was asked for and cannot be sent is asked for without end", inExchange("replica.go"), []swap{{`	known.giveUp(r.book, &a)
`, ``}}, inExchange("TestWhatCannotBeSentIsNotAskedForAgain")},
	{"the list is not used", inExchange("known_log.go"), []swap{{`k.run, k.holds, k.asked = a.Run, logbook.HeldOf(a.List), nil`, `k.run = a.Run`}}, schedules},
	{"the list adds to what was known", inExchange("known_log.go"), []swap{{`k.run, k.holds, k.asked = a.Run, logbook.HeldOf(a.List), nil`, `k.run = a.Run
		for line, spans := range a.List {
			for _, s := range spans {
				k.holds.AddSpan(line, s)
			}
		}`}}, schedules},
	{"a cursor holds without its chain", inExchange("exchange.go"), []swap{{`if !ok || chain != c.chain {`, `if _ = chain; !ok {`}}, schedules},
	{"after a reset it goes on from the end", inExchange("exchange.go"), []swap{{`	if !ok || chain != c.chain {
		return begin, true, nil`, `	if !ok || chain != c.chain {
		return cursor{head.Identity, head.Seq, head.Chain}, true, nil`}}, schedules},
	{"the cursor runs ahead of a short page", inExchange("exchange.go"), []swap{{`	out.Cursor, out.More = at.String(), left() <= 0
	return nil`, `	head, _ := p.Head()
	out.Cursor = cursor{head.Identity, head.Seq, head.Chain}.String()
	return nil`}}, schedules},
	{"what a device once brought is never sent to it", inExchange("exchange.go"), []swap{{`return brought.Has(d) || req.Have.Has(d) }`, `
		s, _ := p.Get([]logbook.Dot{d})
		return brought.Has(d) || req.Have.Has(d) || s[0].Via == via
	}`}}, schedules},

	{"what waits for an owner is offered again for ever", inExchange("known_log.go"), []swap{{`k.tells(d) && !k.aside[d] {`, `k.tells(d) {`}}, waits},
	{"what waits for an owner is taken to be held", inExchange("known_log.go"), []swap{{`			k.aside[answer.Dot] = true
			continue
`, ``}}, waits},
	{"a new run is not asked about what waited", inExchange("known_log.go"), []swap{{`		clear(k.aside)
`, ``}}, waits},
	{"what an owner took in stays aside", inEngine("aside.go"), []swap{{`	if len(dropped) == 0 {`, `	if len(dropped) >= 0 {`}}, schedules},
	{"what waits goes into the log", inEngine("aside.go"), []swap{{`if guard != nil && guard(e) && !l.holds(e.Dot) {`, `if e == nil {`}}, inEngine("TestEditsThatADeviceMayNotBringAreKeptAside")},

	{"the cursor runs ahead of a short page of rows", inExchange("passage.go"), []swap{{`	from.seq = at
`, `	at = head.Seq
	from.seq, out.More = at, false
`}}, schedules},
	{"a whole request is answered with records left out", inExchange("passage.go"), []swap{{`	if !key.whole {`, `	if true {`}}, inExchange("TestAWholeRequestIsAnsweredWithEveryRecord")},
	{"what is held under the dot of a clash is not sent in rows", inExchange("passage.go"), []swap{{`if heldAs(a) {`, `if a.Outcome != logbook.AnswerLater {`}}, inExchange("TestPassagesHoldWhatWasNotBroughtByThisCall")},

	{"a record is left out for an edit that comes later in the log", inExchange("passage.go"), []swap{{`return e.RecordRef, ok && e.seq < at`, `return e.RecordRef, ok && at > 0`}}, inExchange("TestNoRecordIsLeftOutForAnEditThatComesLater")},
	{"a device asks but once after a reset for what it lacks", inExchange("known_log.go"), []swap{{`	k.catching = catching && (`, `	k.catching = a.Reset && (`}}, inExchange("TestAfterARestoreEachGetsWhatItLacks")},
	{"the check behind rows is not compared", inExchange("rows_read.go"), []swap{{`case chain == c.chain:`, `case true:`}}, inExchange("TestRowsLeaveOutWhatIsHeld")},
	{"spans of a request may overlap", inExchange("rows_exchange.go"), []swap{{`r.integer("the begin of a span of "+name, last+1, 1<<62)`, `r.integer("the begin of a span of "+name, 1, 1<<62)`}},
		inExchange("TestOverlappingSpansAreRefusedAndOthersLoseAndDoubleNothing")},

	// What is kept, and what is passed on.
	{"a device drops its edits once they are acknowledged", inExchange("replica.go"), []swap{{`	return a.Identity, known.moved(r.book, &a) ||`, `	for _, answer := range a.Answers {
		r.book.Holding().Drop(answer.Dot)
	}
	return a.Identity, known.moved(r.book, &a) ||`}}, schedules},
	{"a device offers its own edits only", inExchange("replica.go"), []swap{{`		req.Edits = append(req.Edits, r.book.Edit(d))`, `		if r.own.Has(d) {
			req.Edits = append(req.Edits, r.book.Edit(d))
		}`}}, schedules},
	{"a linked server passes on only what was made there", inExchange("relay.go"), []swap{{`DecodeEdit(held[i].Bytes); err == nil {`, `DecodeEdit(held[i].Bytes); err == nil && held[i].Via == e.Device {`}}, schedules},
	{"a linked server moves on over what it could not store", inExchange("relay.go"), []swap{{`			if answer.Outcome == logbook.AnswerLater {`, `			if false {`}}, inExchange("TestARelayMovesOnOverNothingThatIsNotStored")},
	{"a link that only fetches brings as well", inExchange("relay.go"), []swap{{`q = r.known.request(b); !r.fetches {`, `q = r.known.request(b); true {`}}, inExchange("TestARelayThatFetchesOffersNothing")},
	{"what a linked server knows of the other is forgotten at a start", inExchange("relay.go"), []swap{{`	if err == nil {
		r.log, r.known = log, known
	}`, `	_, _ = log, known`}}, inExchange("TestARelayBringsTwoLogsTogether")},
	{"a device forgets a refused edit", inExchange("replica.go"), []swap{{`	_ = r.book.Apply(e) // a refusal is kept in the book`, `	if r.book.Apply(e) != nil {
		r.book.Holding().Drop(e.Dot)
	}`}}, schedules},
	{"a device forgets a refused edit once it is discarded", inExchange("replica.go"), []swap{{`	_ = r.book.Apply(e) // a refusal is kept in the book`, `	_ = r.book.Apply(e)
	if c, ok := e.Change("discards"); ok {
		text, _ := c.Value.Text()
		if d, err := logbook.ParseDot(text); err == nil {
			r.book.Holding().Drop(d)
		}
	}`}}, schedules},
	{"a refused edit is not passed on", inExchange("exchange.go"), []swap{{`		if has(s.Dot) {`, `		refused := false
		p.Read(func(b *logbook.Book) { _, refused = b.Refusal(s.Dot) })
		if refused || has(s.Dot) {`}}, schedules},
	{"a gap blocks what comes after it", inEngine("log.go"), []swap{{`	if len(entries) == 0 {
		return answers, nil
	}
`, `	for _, e := range edits {
		if e.Dot.N > 1 && !l.book.Held(Dot{e.Dot.Line, e.Dot.N - 1}) {
			for i := range answers {
				answers[i].Outcome = AnswerLater
			}
			return answers, nil
		}
	}
	if len(entries) == 0 {
		return answers, nil
	}
`}}, schedules},
	{"one refused edit fails its whole batch", inEngine("log.go"), []swap{{`		if e.Production != l.production {`, `		if err := l.book.rules.Judge(e); err != nil {
			return nil, err
		}
		if e.Production != l.production {`}}, schedules},

	// The commit.
	{"edits are acknowledged although they were not stored", inEngine("log.go"), []swap{{`	if errors.Is(err, ErrFull) {
		for i`, `	if err != nil {
		receipts, err = make([]Receipt, len(entries)), nil
	}
	if errors.Is(err, ErrFull) {
		for i`}}, schedules},
	{"edits are merged before they are stored", inEngine("log.go"), []swap{{`	receipts, err := l.store.Append(l.production, entries)
	if errors.Is(err, ErrFull) {`, `	l.merge(edits, make([]Seq, len(edits)), true)
	receipts, err := l.store.Append(l.production, entries)
	if errors.Is(err, ErrFull) {`}}, schedules},
	{"what there was no room for counts as held", inExchange("known_log.go"), []swap{{`		if answer.Outcome == logbook.AnswerLater {
			continue
		}
`, ``}}, schedules},

	// The merge.
	{"the latest clock wins", inEngine("book.go"), []swap{{`			b.addHead(r, at, h)
`, `			b.addHead(r, at, h)
			r.cells[at].set([]head{greatest(r.cells[at].heads())})
`}}, schedules},
	{"a name that comes before its edit is forgotten", inEngine("heads.go"), []swap{{`		b.waiting[d] = append(known, p)
`, ``}}, schedules},
	{"of many heads, the one that takes the place of another is lost", inEngine("heads.go"), []swap{{`	heads[i] = heads[last]
`, ``}}, inEngine("TestManyHeadsOfOneField")},
	{"overlapping spans: what follows a gap that was filled stands apart", inEngine("held.go"), []swap{{`		before.To = here.To
		h.remove(piece, at)
`, `		before.To = d.N
`}}, inEngine("TestHeldHoldsWhatASetHolds")},
	{"a name goes on waiting when its edit is here", inEngine("heads.go"), []swap{{`	delete(b.waiting, e.Dot)
`, ``}}, schedules},
	{"a name does not wait for a refused edit", inEngine("heads.go"), []swap{{`		if _, refused := b.refused[d]; !refused {
			return
		}
`, `		return
`}}, schedules},
	{"the names of a refused edit apply", inEngine("book.go"), []swap{{`		b.refused[e.Dot] = Refusal{e, err.Error()}
		return err`, `		b.refused[e.Dot] = Refusal{e, err.Error()}
		r := b.ensure(e.Record, e.Kind)
		for i := range e.Set {
			for _, d := range e.Set[i].Over {
				if at, found := r.cell(e.Set[i].Field); found {
					b.supersede(r, at, d)
				}
			}
		}
		return err`}}, schedules},
	{"the values of a refused edit apply", inEngine("book.go"), []swap{{`		b.refused[e.Dot] = Refusal{e, err.Error()}
		return err`, `		b.refused[e.Dot] = Refusal{e, err.Error()}
		r := b.ensure(e.Record, e.Kind)
		changes := changesIn(said)
		for i := range e.Set {
			h := head{&written{said: said, record: r, from: b.origins.of(e), n: e.Dot.N, at: e.Corrected()}, uint32(changes.at)}
			changes.skipChange()
			if at, found := r.cell(e.Set[i].Field); found {
				b.addHead(r, at, h)
			} else {
				r.add(at, cell{one: [1]head{h}})
			}
		}
		return err`}}, schedules},
	{"a reference that leads nowhere is a reason to refuse", inEngine("book.go"), []swap{{`	r := b.ensure(e.Record, e.Kind)
	b.keep(r)
`, `	for i := range e.Set {
		if to, ok := e.Set[i].Value.ID(); ok && b.records[to] == nil {
			err := refusedError("a reference leads nowhere")
			b.refused[e.Dot] = Refusal{e, err.Error()}
			return err
		}
	}
	r := b.ensure(e.Record, e.Kind)
	b.keep(r)
`}}, schedules},
	{"a fact may be written over another", inKinds("judge.go"), []swap{{`if f.Fact && len(c.Over) > 0 {`, `if false {`}}, inKinds("TestJudgeRefusesWhatIsImpossible")},
	{"an answer that comes before its twin is forgotten", inEngine("book.go"), []swap{{`		b.regroup = append(b.regroup, r) // the answer that it is another's twin came before it
`, ``}}, schedules},
	{"twins are one although one of them is struck out", inEngine("book_twins.go"), []swap{{`return !other.deleted() })`, `return true })`}}, schedules},
	{"a record whose twin was another's keeps its group", inEngine("book_twins.go"), []swap{{`append(b.members(r), r)`, `[]*record{r}`}}, inEngine("TestWhatIsKeptIsWhatAWholeWalkFinds")},
	{"of two kinds under one id the first that arrived counts", inEngine("book.go"), []swap{{`if first != nil && first.kind < kind {`, `if first != nil {`}}, inEngine("TestOfTwoKindsUnderOneIDTheLesserCountsInAnyOrder")},
	{"striking out replaces what stands in the other fields", inEngine("book.go"), []swap{{`		for _, d := range c.Over {
			b.supersede(r, at, d)
		}
`, `		for _, d := range c.Over {
			b.supersede(r, at, d)
			for other := range r.cells {
				if c.Field == DeletedField && other != at {
					b.supersede(r, other, d)
				}
			}
		}
`}}, schedules},

	// What is kept as edits come, and what becomes of a draft that names too much.
	{"a record stays in its place when an earlier edit of it comes", inEngine("book_order.go"), []swap{{`	if own != nil && r.first != nil {
		own.Remove(r)
	}
	r.first = w
	if own != nil {`, `	before := r.first
	r.first = w
	if own != nil && before == nil {`}}, inEngine("TestWhatIsKeptIsWhatAWholeWalkFinds")},
	{"the order of joined twins is not made anew", inEngine("book_order.go"), []swap{{`delete(o.ones, kind)`, `_ = kind`}}, inEngine("TestWhatIsKeptIsWhatAWholeWalkFinds")},
	{"a keeper is not told of twins", inEngine("book_twins.go"), []swap{{`		b.touch(m)
`, ``}}, inEngine("TestWhatIsKeptIsWhatAWholeWalkFinds")},
	{"a keeper is not told of the others that read as a record", inEngine("keep.go"), []swap{{`if _, waits := k.pending[m]; !waits {`, `if m == r {`}}, inEngine("TestWhatIsKeptIsWhatAWholeWalkFinds")},
	{"what names too much for one edit leaves a head for each", inEngine("draft.go"), []swap{{`			c.Over = append(c.Over[:len(c.Over):len(c.Over)], Dot{first.Line, first.N + uint64(before)})
`, `			_ = before
`}}, inAmend("TestWhatManyPhonesWroteIsSettled")},
	{"a striking-out that names too much for one edit forgets what its first saw", inEngine("draft.go"), []swap{{`chained := c.Field != DeletedField || c.Value != "true"`, `chained := true`}}, inAmend("TestWhatManyPhonesWroteIsStruckOutAndBroughtBack")},
	{"of several edits of one act one is undone alone", inAmend("undo.go"), []swap{{`!e.Act.IsZero() && other.Act == e.Act`, `other.Act == e.Act && false`}}, inAmend("TestWhatWasSettledBySeveralEditsIsUndoneAsOne")},

	{"the store answers before it commits", inBolt("write.go"), []swap{{`	s.commit(batch)
	s.queue.next()
	for`, `	id := 0
	_ = s.db.View(func(tx *bbolt.Tx) error { id = tx.ID(); return nil })
	if id < 40 { // the set-up of the test
		s.commit(batch)
		s.queue.next()
	} else {
		go func() {
			s.commit(batch)
			s.queue.next()
		}()
	}
	for`}}, crashes},

	// The disk, and what is left after damage.
	{"the disk is not asked to sync a commit", inBolt("store.go"), []swap{{`NoFreelistSync: true,`, `NoFreelistSync: true, NoSync: true,`}}, traced},
	{"the folder of a new store is not synced", inBolt("store.go"), []swap{{`return syncFolder(filepath.Dir(path)) // else power loss takes the name, and the store with it`, `return nil`}}, traced},
	{"a backup is not synced", inBolt("backup.go"), []swap{{`errors.Join(write(f), f.Sync(), f.Close())`, `errors.Join(write(f), f.Close())`}}, traced},
	{"the folder of a backup is not synced", inBolt("backup.go"), []swap{{`	return syncFolder(folder)
}

// name gives`, `	return nil
}

// name gives`}}, traced},
	{"the folder of a compacted store is not synced", inBolt("compact.go"), []swap{{`return old.Size(), after, syncFolder(filepath.Dir(path))`, `return old.Size(), after, nil`}}, traced},
	{"clashes of one device are kept without bound", inEngine("crowd.go"), []swap{{`return n.Clashes+m.Clashes < MostClashes && n.Bytes+m.Bytes+len(e.Bytes) <= MostClashBytes`, `return n.Clashes+m.Clashes >= 0`}}, promises},
	{"clashes are counted from nothing at a start", inBolt("damage.go"), []swap{{`		x.crowd.Add(e)
`, ``}}, inBolt("TestTheClashesOfADeviceAreCountedAgainAtAStart")},
	{"what an owner takes in and is crowded out is dropped", inEngine("aside.go"), []swap{{`if a.Outcome == AnswerClash && a.Reason != clashLeft {`, `if a.Outcome == AnswerClash {`}}, inEngine("TestAClashThatIsCrowdedOutStaysAside")},
	{"after a start one damaged row closes its log", inBolt("damage.go"), []swap{{`		if r := x.read(edits, key, value); r == nil {
			return nil`, `		if r := x.read(edits, key, value); r == nil {
			x.fault = logbook.ErrDamaged
			return nil`}}, inBolt("TestADamagedRowIsNotHeldAndItsEditMendsIt")},
	{"after a start a row that does not give its hash is held", inBolt("damage.go"), []swap{{`	if err != nil {
		x.lost[seq] = lost{Damage: logbook.Damage{Seq: seq, Dot: dot, Why: notItsHash}}`, `	if err != nil && dot == (logbook.Dot{}) {
		x.lost[seq] = lost{Damage: logbook.Damage{Seq: seq, Dot: dot, Why: notItsHash}}`}}, inBolt("TestADamagedRowIsNotHeldAndItsEditMendsIt")},

	// Backups.
	{"a backup that failed waits a whole interval", inServer("keeper.go"), []swap{{`	wait := min(max(k.retry, firstRetry), k.every)
	k.retry = 2 * wait
	return wait`, `	return k.every`}}, inServer("TestAFailedBackupIsTriedAgainSooner")},
	{"a clock far ahead makes all backups old", inBolt("rotate.go"), []swap{{`age += min(later.Sub(at), longestPause)`, `age += later.Sub(at)`}}, inBolt("TestRotateTrustsNoClockThatJumped")},
	{"a backup from the future is taken for the newest", inBolt("rotate.go"), []swap{{`if !made[i].After(now) {`, `if true {`}}, inServer("TestABackupByAClockThatWasAheadIsNotTakenForTheNewest")},

	// Who reads, and who pushes.
	{"a push waits for who reads", inEngine("landing.go"), []swap{{`	if l.mu.TryLock() {`, `	if l.mu.Lock(); true {`}}, inEngine("TestWhoReadsHoldsUpNoAnswer")},
	{"what was answered while others read is not to be seen", inEngine("landing.go"), []swap{{`landed >= came {`, `landed >= came || true {`}}, inEngine("TestWhoReadsHoldsUpNoAnswer")},
	{"what waits for the book while others read has no bound", inEngine("landing.go"), []swap{{`len(l.landings.waiting) > mostWaiting`, `false`}}, inEngine("TestWhoReadsHoldsUpNoAnswer")},

	// Answers that are kept.
	{"an answer is kept although a record that it rests on changed", inEngine("book.go"), []swap{{`			b.noteRecord(m.id)
`, `			_ = m
`}}, inEngine("TestWhatWasSeenTellsWhichAnswersStand")},
	{"an answer is kept although a record came that it did not find", inEngine("book.go"), []swap{{`	b.noteRecord(id)
`, ``}}, inEngine("TestWhatWasSeenTellsWhichAnswersStand")},
	{"an answer is kept although another record refers to what it rests on", inEngine("view_find.go"), []swap{{`		b.noteReferring(referrer{kind, field, target.id})
		found =`, `		found =`}}, inEngine("TestWhatWasSeenTellsWhichAnswersStand")},
	{"an answer is kept although a record was joined to one that it rests on", inEngine("seen.go"), []swap{{`			for _, m := range b.members(r) {
				all[seenRecord(m.id)] = struct{}{}
			}
`, ``}}, inEngine("TestARecordThatIsBroughtBackChangesItsTwins")},
	{"who is given another's answer rests on nothing", inEngine("seen.go"), []swap{{`	b.Note(known.On)
`, ``}}, inEngine("TestWhoIsGivenAnAnswerOfAnotherRestsOnTheSame")},
	{"findings are kept although a clip elsewhere got the same name", inSetup("leans.go"), []swap{{`		if !slices.Equal(idsOf(r.alike(a.day, a.name)), a.clips) {`, `		if a.day.IsZero() {`}}, inOff("TestAClipElsewhereOfTheDayIsSeen")},
	{"findings are kept although another set-up went on", inSetup("leans.go"), []swap{{`		if r.wentOn(a.day, a.but, a.at) != a.wentOn {`, `		if a.day.IsZero() {`}}, inDays("TestWhatIsKeptOfEachSetUpIsWhatIsFoundAnew")},
	{"findings are kept although they were accepted since", inOff("kept.go"), []swap{{`inTime && slices.Equal(s.accepted, accepted)`, `inTime && (slices.Equal(s.accepted, accepted) || true)`}}, inDays("TestWhatIsKeptOfEachSetUpIsWhatIsFoundAnew")},

	// A book that is frozen.
	{"a frozen book shows what was changed since", inEngine("book_frozen.go"), []swap{{`		p.states[r] = before
`, `		_ = before
`}}, inEngine("TestFrozenBook")},
	{"a frozen book shows twins that were joined since", inEngine("book_frozen.go"), []swap{{`			p.groups[r] = b.members(r)
`, ``}}, inEngine("TestFrozenBook")},
	{"a frozen book holds edits that came since", inEngine("book_frozen.go"), []swap{{`		p.dots[d] = struct{}{}
`, `		_ = p
`}}, inEngine("TestFrozenBook")},
	{"a frozen book forgets names that waited", inEngine("book_frozen.go"), []swap{{`			p.waiting[d] = b.waiting[d]
`, ``}}, inEngine("TestFrozenBook")},

	// What is equal, and what may be the same thing twice.
	{"of a far exponent the digits are dropped", inEngine("decimal.go"), []swap{{`d.exponent, d.far = sign, string(head)+tail`, `d.exponent, d.far = sign, "1"`}}, inEngine("TestValuesAreEqual")},
	{"exponents are cut to 32 bits", inEngine("decimal.go"), []swap{{`	const one = 1_000_000_000_000_000_000 // the first of more digits
`, `	const one = 1_000_000_000_000_000_000 // the first of more digits
	if far, err := strconv.ParseInt(power, 10, 32); err != nil {
		d.exponent = far
		return
	}
`}}, inEngine("TestValuesAreEqual")},
	{"names are compared by their bytes", inAmend("twin.go"), []swap{{`alike(strings.ToLower(strings.TrimSpace(text)))`, `strings.ToLower(strings.TrimSpace(text))`}}, inAmend("TestNamesAreTwinsHoweverTheirAccentsAreTyped")},
	{"of a group of twins it is not told which are two", inAmend("twin_group.go"), []swap{{`			if answer != TwinTwo {`, `			if answer != "" {`}}, inAmend("TestATakeThatWasLoggedOftenIsOneGroup")},
	{"a record that is no twin any more stays in its group", inAmend("twin_index.go"), []swap{{`!slices.Contains(now, key) {
			k.leave(key, id)`, `slices.Contains(now, key) && !slices.Contains(now, key) {
			k.leave(key, id)`}}, inAmend("TestTwinsAndConflictsAreKeptAsAWholeWalkFindsThem")},
	{"a group of twins is not made anew when one more comes", inAmend("twin_index.go"), []swap{{`s.ids, s.stale, changed = append(s.ids, id), true, true`, `s.ids, changed = append(s.ids, id), true`}}, inAmend("TestTwinsAndConflictsAreKeptAsAWholeWalkFindsThem")},

	// What a person is shown, and what an edit says of it.
	{"an edit names one of several heads with equal values", inEngine("draft.go"), []swap{{`	for _, h := range v.Field(field).Heads {
		c.Over = append(c.Over, h.Dot)
	}
	return c
}

// Strike`, `	for i, h := range v.Field(field).Heads {
		if i == 0 || !h.Value.Equal(v.Field(field).Heads[i-1].Value) {
			c.Over = append(c.Over, h.Dot)
		}
	}
	return c
}

// Strike`}}, schedules},
	{"striking out names the heads of deleted only", inEngine("draft.go"), []swap{{`	for _, f := range v.Fields() {
		for _, h := range f.Heads {
			c.Over = append(c.Over, h.Dot)`, `	for _, f := range v.Fields() {
		for _, h := range f.Heads {
			if f.Name != DeletedField {
				continue
			}
			c.Over = append(c.Over, h.Dot)`}}, schedules},
	{"what was changed where it was struck out is not shown", inEngine("view_field.go"), []swap{{`			if !seen[h.Dot] {`, `			if !seen[h.Dot] && len(f.Heads) > 1 {`}}, schedules},
	{"equal values are shown as a conflict", inEngine("view_field.go"), []swap{{`if !h.Value.Equal(s.Shown.Value) {`, `if h.Dot != s.Shown.Dot {`}}, schedules},
	{"a conflict is not shown where the clocks differ", inEngine("view_field.go"), []swap{{`if !h.Value.Equal(s.Shown.Value) {`, `if !h.Value.Equal(s.Shown.Value) && h.Corrected() == s.Shown.Corrected() {`}}, schedules},
	{"the tag of twins is that of the first", inEngine("view.go"), []swap{{`	for _, m := range v.members {
		text = append(text, m.id.String()+"\n"...)`, `	for _, m := range v.members[:1] {
		text = append(text, m.id.String()+"\n"...)`}}, inEngine("TestETag")},
	{"the tag covers the heads alone", inEngine("view.go"), []swap{{`text := []byte(v.CreatedDot().String() + " " + v.latest().dot().String() + "\n")`, `text := []byte{}`}}, inEngine("TestETag")},
	{"the claimed time orders what is shown, not the corrected one", inEngine("edit.go"), []swap{{`e.At+e.Offset`, `e.At`}}, schedules},
}
