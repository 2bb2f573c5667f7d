package uplink

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/ecdsa"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path"
	"sync"
	"time"

	"evenwhite/api/pairing/proof"
)

// How long the other server may take, and how much it may answer.
const (
	dialTime   = 20 * time.Second
	dialOne    = 5 * time.Second // at each of several addresses
	callTime   = 5 * time.Minute // a megabyte at 64 kbit/s takes two
	mostAnswer = 8 << 20
)

// A Refusal is an answer of the other server that is no success.
type Refusal struct {
	Status int    `json:"status"`
	Type   string `json:"type"`
	Title  string `json:"title"`
	Detail string `json:"detail"`
}

func (r *Refusal) Error() string {
	if r.Detail == "" {
		return fmt.Sprintf("the other server answers %d: %s", r.Status, r.Title)
	}
	return "the other server answers: " + r.Detail
}

// is reports whether a refusal is of a type of the contract, such as "expired".
func (r *Refusal) is(name string) bool { return r.Type == "urn:evenwhite:problem:"+name }

// ErrRevoked ends a link: the other server admits it no longer. Its edits stay here.
var ErrRevoked = errors.New("the other server no longer admits this one: link again with a new code there")

// ErrStrange ends a link likewise: after a restore one of the two has no key or no device of it.
var ErrStrange = errors.New("the other server does not know this one, since one of the two was restored: " +
	"evenwhite unlink, then link again with a new code there")

// ErrOther keeps two productions apart.
var ErrOther = errors.New("the other server has another production under this id, which was begun apart from the one here: " +
	"nothing is exchanged, for the two would be mixed. Where it was begun by hand after a loss, bring it there as a bundle")

// A caller asks the other server under the link's key. All its methods may be called at once.
type caller struct {
	base   *url.URL
	client *http.Client
	key    *ecdsa.PrivateKey

	mu           sync.Mutex
	token, nonce string
}

func newCaller(address *url.URL, fingerprint string, key *ecdsa.PrivateKey,
	find func(context.Context, string) ([]string, error)) *caller {
	d := dialler{find, trusting(address.Hostname(), fingerprint)}
	return &caller{base: address, key: key, client: &http.Client{
		Transport: &http.Transport{
			Proxy: http.ProxyFromEnvironment, TLSClientConfig: d.trusts, TLSHandshakeTimeout: dialTime, IdleConnTimeout: 2 * time.Minute,
			DialContext: d.dial, DialTLSContext: d.dialTLS, MaxIdleConnsPerHost: 8, DisableCompression: true,
		},
		// A proof is made for one address: nothing is followed to another.
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
}

// A call is one request.
type call struct {
	method, path string
	query        string
	header       map[string]string
	body         []byte
	anonymous    bool // by a proof alone
}

// send asks, with a nonce or a token anew where the answer wants one. Whoever gets a response
// closes it.
func (c *caller) send(ctx context.Context, q call) (*http.Response, error) {
	renewed := false
	for range 4 {
		token := ""
		if !q.anonymous {
			var err error
			if token, err = c.current(ctx); err != nil {
				return nil, err
			}
		}
		response, used, err := c.once(ctx, q, token)
		if err != nil {
			return nil, err
		}
		if response.StatusCode < 300 {
			return response, nil
		}
		refusal := refusalOf(response)
		switch given := response.Header.Get("DPoP-Nonce"); {
		case response.StatusCode != http.StatusUnauthorized:
			return nil, refusal
		case refusal.is("revoked"):
			return nil, ErrRevoked
		case refusal.is("unknown-device"):
			return nil, ErrStrange
		case given != "" && given != used:
			continue
		case q.anonymous || renewed:
			return nil, refusal
		default:
			c.forget(token)
			renewed = true
		}
	}
	return nil, errors.New("the other server asks for another proof each time: is a proxy in between that changes addresses?")
}

// once sends a request once, and returns the nonce of its proof.
func (c *caller) once(ctx context.Context, q call, token string) (response *http.Response, nonce string, err error) {
	address := *c.base
	address.Path = path.Join("/", c.base.Path, q.path)
	proven := address.String()
	address.RawQuery = q.query
	request, err := http.NewRequestWithContext(ctx, q.method, address.String(), bytes.NewReader(q.body))
	if err != nil {
		return nil, "", err
	}
	for name, value := range q.header {
		request.Header.Set(name, value)
	}
	c.mu.Lock()
	nonce = c.nonce
	c.mu.Unlock()
	shown, err := proof.Make(c.key, proof.Draft{ID: rand.Text(), Method: q.method, URL: proven, Token: token, Nonce: nonce, At: time.Now()})
	if err != nil {
		return nil, "", err
	}
	request.Header.Set("DPoP", shown)
	if token != "" {
		request.Header.Set("Authorization", "DPoP "+token)
	}
	if response, err = c.client.Do(request); err != nil {
		return nil, "", err
	}
	if given := response.Header.Get("DPoP-Nonce"); given != "" {
		c.mu.Lock()
		c.nonce = given
		c.mu.Unlock()
	}
	return response, nonce, nil
}

// current is the token of this hour, and a new one where there is none.
func (c *caller) current(ctx context.Context) (string, error) {
	c.mu.Lock()
	token := c.token
	c.mu.Unlock()
	if token != "" {
		return token, nil
	}
	var given struct {
		Token string `json:"token"`
	}
	q := call{method: http.MethodPost, path: "/v1/token", anonymous: true,
		header: map[string]string{"Content-Type": "application/json"}, body: []byte("{}")}
	if err := c.read(ctx, q, &given); err != nil {
		return "", err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.token = given.Token
	return c.token, nil
}

// forget drops a token that is no longer taken, unless there is a newer one.
func (c *caller) forget(token string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.token == token {
		c.token = ""
	}
}

// read asks, and reads an answer in JSON.
func (c *caller) read(ctx context.Context, q call, into any) error {
	ctx, cancel := context.WithTimeout(ctx, callTime)
	defer cancel()
	response, err := c.send(ctx, q)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	return json.NewDecoder(io.LimitReader(response.Body, mostAnswer)).Decode(into)
}

// rowsMedia is the media type of rows (logbook/exchange/rows.md), and which of its later rows are known.
const rowsMedia = "application/vnd.evenwhite.rows"

// exchange sends rows and returns those that are answered, both packed on their way.
func (c *caller) exchange(ctx context.Context, production string, rows []byte) ([]byte, error) {
	ctx, cancel := context.WithTimeout(ctx, callTime)
	defer cancel()
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write(rows); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	response, err := c.send(ctx, call{method: http.MethodPost, path: "/v1/productions/" + production + "/exchange", body: packed.Bytes(),
		header: map[string]string{"Content-Type": rowsMedia, "Content-Encoding": "gzip",
			"Accept": rowsMedia + ";knows=aside+mark", "Accept-Encoding": "gzip"}})
	if err != nil {
		return nil, err
	}
	defer response.Body.Close()
	from := io.Reader(response.Body)
	if response.Header.Get("Content-Encoding") == "gzip" {
		z, err := gzip.NewReader(response.Body)
		if err != nil {
			return nil, err
		}
		from = z
	}
	said, err := io.ReadAll(io.LimitReader(from, mostAnswer+1))
	if err == nil && len(said) > mostAnswer {
		err = fmt.Errorf("the other server answers with more than %d MB", mostAnswer>>20)
	}
	return said, err
}

// refusalOf reads the problem of an answer, and closes it.
func refusalOf(response *http.Response) *Refusal {
	defer response.Body.Close()
	r := &Refusal{Title: response.Status}
	_ = json.NewDecoder(io.LimitReader(response.Body, 64<<10)).Decode(r) // a proxy answers with a page
	r.Status = response.StatusCode
	return r
}
