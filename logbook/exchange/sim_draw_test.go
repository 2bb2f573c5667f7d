package exchange_test

import (
	"math/rand/v2"
)

// A step is one thing that happens in a schedule. Phone and Server count round and
// round those that there are, so that a list of steps stays one when some are cut
// from it. Detail says what exactly happens; 0 is the plainest.
type step struct {
	Do     string
	Phone  int
	Server int
	Detail int
}

// dice reads the choices of a step out of its detail, one after another.
type dice struct{ rest uint64 }

// pick is the next choice, 0 to n-1.
func (d *dice) pick(n int) int {
	choice := int(d.rest % uint64(n))
	d.rest /= uint64(n)
	return choice
}

// shuffle is an order by chance that follows from the rest of the detail: the
// order that there is where nothing is left.
func (d *dice) shuffle(n int, swap func(i, j int)) {
	if d.rest != 0 {
		rand.New(rand.NewPCG(d.rest, 9)).Shuffle(n, swap)
	}
}

// A deed is what a step can do. It returns what came of it in words, "" for
// nothing.
type deed struct {
	name  string
	often int
	do    func(*sim, *dice) string
}

var deeds = []deed{
	{"edit", 30, editing("edit")},
	{"make a record", 6, editing("make a record")},
	{"settle a conflict", 5, editing("settle a conflict")},
	{"strike out", 3, editing("strike out")},
	{"bring back", 3, editing("bring back")},
	{"correct a fact", 2, editing("correct a fact")},
	{"answer a twin", 4, editing("answer a twin")},
	{"write what is not valid", 2, editing("write what is not valid")},
	{"write what older rules refuse", 3, editing("write what older rules refuse")},
	{"correct a refused edit", 2, editing("correct a refused edit")},
	{"discard a refused edit", 2, editing("discard a refused edit")},
	{"refer to what may be nowhere", 2, editing("refer to what may be nowhere")},
	{"edit by REST", 6, (*sim).editByREST},

	{"exchange", 18, (*sim).exchangeOnce},
	{"exchange all", 8, (*sim).exchangeAll},
	{"push half", 3, (*sim).pushHalf},
	{"pull half", 3, (*sim).pullHalf},
	{"push in another order", 3, (*sim).pushShuffled},
	{"send twice", 3, (*sim).sendTwice},
	{"lose the answer", 4, (*sim).loseAnswer},
	{"cut the answer", 3, (*sim).cutAnswer},
	{"bundle to a phone", 3, (*sim).bundleToPhone},
	{"bundle to a server", 2, (*sim).bundleToServer},
	{"bundle from a server", 2, (*sim).bundleFromServer},

	{"an owner takes in", 3, (*sim).ownerTakesIn},
	{"an owner leaves aside", 2, (*sim).ownerLeaves},

	{"start a phone again", 4, (*sim).restartPhone},
	{"copy a phone", 2, (*sim).copyPhone},
	{"save a phone", 2, (*sim).savePhone},
	{"set a phone back", 3, (*sim).setPhoneBack},
	{"copy a running phone", 1, (*sim).copyRunning},
	{"lose a phone", 1, (*sim).losePhone},
	{"new phone", 1, (*sim).newPhone},
	{"jump a clock", 2, (*sim).jumpClock},
	{"change a phone's rules", 3, (*sim).changePhoneRules},
	{"change a server's rules", 2, (*sim).changeServerRules},

	{"start a server again", 2, (*sim).restartServer},
	{"kill before the commit", 2, (*sim).killBefore},
	{"kill after the commit", 2, (*sim).killAfter},
	{"fill the disk", 2, (*sim).fillDisk},
	{"back up", 3, (*sim).backUp},
	{"restore the backup", 3, (*sim).restore},
	{"empty the server", 1, (*sim).emptyServer},
	{"second server", 1, (*sim).secondServer},
	{"third server", 1, (*sim).thirdServer},
	{"servers exchange", 8, (*sim).linkOnce},
}

// What a step may lead to and does not say itself.
const (
	copyOfCopy     = "a copy is copied"
	ownAfterLoss   = "a restored server writes after losing edits of its own"
	acceptedLater  = "a refused edit is accepted by newer rules"
	clashKeptAside = "a clash is kept aside"
	setBackAfresh  = "a phone that was set back writes again"
	foundReset     = "a cursor leads nowhere"
	keptForOwner   = "an edit is kept for an owner"
	recordWanted   = "a record that rows left out is not known"
	listInParts    = "a list is told in parts"
	editsWanted    = "edits are asked for that a list tells"
	olderProgram   = "a phone that takes no parts finds a reset"
)

// happenings are all that must happen in a run that is long enough.
func happenings() []string {
	all := []string{copyOfCopy, ownAfterLoss, acceptedLater, clashKeptAside, setBackAfresh, foundReset, keptForOwner, recordWanted,
		listInParts, editsWanted, olderProgram}
	for _, d := range deeds {
		all = append(all, d.name)
	}
	return all
}

func deedNamed(name string) (deed, bool) {
	for _, d := range deeds {
		if d.name == name {
			return d, true
		}
	}
	return deed{}, false
}

// drawSchedule makes a schedule by chance. Each has faults of its own: most deeds
// are left out of some schedules and happen more in others, for what needs the
// same thing several times over would else never come.
func drawSchedule(seed uint64) []step {
	chance := rand.New(rand.NewPCG(seed, 7))
	var bag []string
	for _, d := range deeds {
		often := d.often
		if often < 6 {
			often *= []int{0, 1, 1, 3}[chance.IntN(4)]
		}
		if d.name == "copy a running phone" && chance.IntN(4) > 0 {
			often = 0 // after a clash nodes need not show the same
		}
		for range often {
			bag = append(bag, d.name)
		}
	}
	var steps []step
	add := func(name string) {
		st := step{name, chance.IntN(8), chance.IntN(3), chance.IntN(1 << 40)}
		if n := len(steps); n > 0 && chance.IntN(3) == 0 {
			st.Phone, st.Server = steps[n-1].Phone, steps[n-1].Server
		}
		steps = append(steps, st)
	}
	for range 2 + chance.IntN(3) {
		add("new phone")
	}
	length := 20 + chance.IntN(80)
	if chance.IntN(5) == 0 {
		length += chance.IntN(200)
	}
	for range length {
		add(bag[chance.IntN(len(bag))])
	}
	return steps
}
