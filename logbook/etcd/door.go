package etcd

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"syscall"

	"go.etcd.io/etcd/api/v3/v3rpc/rpctypes"
	"google.golang.org/grpc/codes"
)

// Refused is where etcd does not let this program in by what that shows, or this program does not trust
// etcd: another try hears the same.
type Refused struct{ Why error }

func (r *Refused) Error() string { return "etcd cannot be entered: " + r.Why.Error() }

// refuses reports whether etcd says no to whoever asks.
func refuses(err error) bool {
	switch {
	case errors.Is(err, rpctypes.ErrInvalidAuthToken), errors.Is(err, rpctypes.ErrAuthOldRevision):
		return false // another token is got
	case errors.Is(err, rpctypes.ErrAuthFailed), errors.Is(err, rpctypes.ErrUserEmpty):
		return true
	}
	code := codeOf(err)
	return code == codes.PermissionDenied || code == codes.Unauthenticated
}

// doors are how members are asked by plain HTTP, which says what keeps a caller out; the client of etcd
// only says that there was no answer.
type doors struct {
	members []string
	http    *http.Client
}

func doorsOf(a Access, members []string) doors {
	return doors{members, &http.Client{Transport: &http.Transport{TLSClientConfig: a.TLS.Clone(), DisableKeepAlives: true}}}
}

// closed says why no member lets this program in; nil where one does, or may yet.
func (d doors) closed() error {
	var all []string
	for _, member := range d.members {
		why, closed := d.knock(member)
		if !closed {
			return nil
		}
		all = append(all, why)
	}
	return &Refused{errors.New(strings.Join(all, "; "))}
}

// explain adds to an error of a start what the client of etcd keeps to itself.
func (d doors) explain(err error) error {
	var refused *Refused
	if errors.As(err, &refused) {
		return refused
	}
	if !mayYet(err) {
		return err
	}
	for _, member := range d.members {
		if why, _ := d.knock(member); why != "" {
			err = fmt.Errorf("%w; %s", err, why)
		}
	}
	return err
}

// knock asks a member for anything at all, and says why there is no answer; closed: since it does not
// let this program in, or this program does not trust it.
func (d doors) knock(member string) (why string, closed bool) {
	ctx, cancel := context.WithTimeout(context.Background(), firstTry)
	defer cancel()
	for range 3 { // who is refused may be cut off before it reads why
		r, err := d.get(ctx, member+"/version")
		if err == nil {
			_ = r.Body.Close()
			return "", false
		}
		var asked *url.Error
		if errors.As(err, &asked) {
			err = asked.Err // but for the address
		}
		if errors.Is(err, io.EOF) || errors.Is(err, syscall.ECONNRESET) || errors.Is(err, syscall.EPIPE) {
			continue
		}
		var dialled *net.OpError
		away := errors.As(err, &dialled) && dialled.Op == "dial" || ctx.Err() != nil
		return hostOf(member) + ": " + err.Error(), !away
	}
	return hostOf(member) + ": it hangs up: does it speak TLS alone?", false
}

func hostOf(member string) string {
	_, host, _ := strings.Cut(member, "://")
	return host
}

func (d doors) get(ctx context.Context, address string) (*http.Response, error) {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return nil, err
	}
	return d.http.Do(request)
}

// quota is how many bytes a member keeps at most, as its metrics say; 0 where it shows none.
func (d doors) quota(member string) int64 {
	ctx, cancel := context.WithTimeout(context.Background(), firstTry)
	defer cancel()
	r, err := d.get(ctx, member+"/metrics")
	if err != nil {
		return 0
	}
	defer r.Body.Close()
	for lines := bufio.NewScanner(io.LimitReader(r.Body, 1<<20)); lines.Scan(); {
		if value, is := strings.CutPrefix(lines.Text(), "etcd_server_quota_backend_bytes "); is {
			bytes, _ := strconv.ParseFloat(value, 64)
			return int64(bytes)
		}
	}
	return 0
}
