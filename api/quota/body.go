package quota

import "io"

// A body is read in pieces that double, from the first on. What a sender declares counts
// for nothing: it would hold room that it never fills.
const firstPiece = 32 << 10

// Read reads to the end for a name. What is held is counted as it comes; done gives it
// back, also after an error, which is ErrBusy where there is no room.
func (b *Budget) Read(name string, r io.Reader) (body []byte, done func(), err error) {
	held := int64(0)
	done = func() { b.Give(name, held); held = 0 }
	for {
		if len(body) == cap(body) {
			size := max(firstPiece, 2*cap(body))
			if !b.Take(name, int64(size)) { // beside the old one, which is held until it is copied
				return nil, done, ErrBusy
			}
			grown := make([]byte, len(body), size)
			copy(grown, body)
			b.Give(name, held)
			body, held = grown, int64(size)
		}
		n, err := r.Read(body[len(body):cap(body)])
		body = body[:len(body)+n]
		if err == io.EOF {
			return body, done, nil
		}
		if err != nil {
			return nil, done, err
		}
	}
}
