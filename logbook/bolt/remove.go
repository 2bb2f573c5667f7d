package bolt

import (
	"evenwhite/logbook"
)

// Remove implements logbook.Store. The pages of the log are free from the next commit on:
// the file does not shrink, it grows no further until they are used again.
func (s *Store) Remove(production logbook.ID, at logbook.Head, mark []byte) error {
	if head, err := s.Head(production); err != nil {
		return err
	} else if head != at {
		return logbook.ErrWentOn
	}
	return s.do(func(c *change) error {
		logs, head := c.tx.Bucket(logsBucket), logbook.Head{}
		if logs.Bucket(production[:]) == nil {
			return logbook.ErrNoProduction
		}
		n := c.news(production)
		if x := s.index(production); x != nil && !n.removed {
			head = x.head
		}
		if n.head != (logbook.Head{}) {
			head = n.head
		}
		if head != at {
			return logbook.ErrWentOn
		}
		if err := logs.DeleteBucket(production[:]); err != nil {
			return err
		}
		c.logs[production] = &news{removed: true}
		return keepIn(c.tx.Bucket(keptBucket), logbook.RemovedName(production), mark)
	})
}
