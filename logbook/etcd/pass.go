package etcd

import (
	"context"
	"errors"
	"sync"
	"time"

	"go.etcd.io/etcd/api/v3/etcdserverpb"
	"go.etcd.io/etcd/api/v3/v3rpc/rpctypes"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials"
)

// A pass is the token by which etcd knows a user. It is got with name and password, and is over once the
// members were started anew, or any user or role was changed. The client of etcd gets tokens as well; but it shows
// the old one when it asks for another, etcd 3.4 refuses that, and it asks for ever.
type pass struct {
	user, password string
	asking         chan struct{} // held by the one that asks

	mu      sync.Mutex
	token   string
	refused error // by which etcd gave none
	at      time.Time
}

// askAgain is how long etcd's no to a password holds: to compare one costs etcd much.
const askAgain = time.Second

const authenticate = "/etcdserverpb.Auth/Authenticate"

func newPass(user, password string) *pass {
	return &pass{user: user, password: password, asking: make(chan struct{}, 1)}
}

func (p *pass) options() []grpc.DialOption {
	return []grpc.DialOption{grpc.WithPerRPCCredentials(p), grpc.WithChainUnaryInterceptor(p.call)}
}

// GetRequestMetadata implements credentials.PerRPCCredentials.
func (p *pass) GetRequestMetadata(ctx context.Context, _ ...string) (map[string]string, error) {
	token := p.current()
	if info, _ := credentials.RequestInfoFromContext(ctx); token == "" || info.Method == authenticate {
		return nil, nil
	}
	return map[string]string{rpctypes.TokenFieldNameGRPC: token}, nil
}

// RequireTransportSecurity implements credentials.PerRPCCredentials.
func (p *pass) RequireTransportSecurity() bool { return false }

func (p *pass) current() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.token
}

// call is a call that gets another token where the one that it showed is over, and then is made again.
func (p *pass) call(ctx context.Context, method string, q, a any, c *grpc.ClientConn, do grpc.UnaryInvoker, o ...grpc.CallOption) error {
	shown := p.current()
	err := do(ctx, method, q, a, c, o...)
	if method == authenticate || !isOver(shown, rpctypes.Error(err)) {
		return err
	}
	if err := p.renew(ctx, c, shown); err != nil {
		return err
	}
	return do(ctx, method, q, a, c, o...)
}

// isOver reports whether a call failed for the token that it showed. Without one, etcd takes a caller for whom the
// certificate names.
func isOver(shown string, err error) bool {
	return errors.Is(err, rpctypes.ErrInvalidAuthToken) || errors.Is(err, rpctypes.ErrAuthOldRevision) ||
		errors.Is(err, rpctypes.ErrUserEmpty) ||
		shown == "" && err != nil && codeOf(err) == codes.PermissionDenied
}

// renew gets another token than the one that is over, unless somebody has.
func (p *pass) renew(ctx context.Context, c grpc.ClientConnInterface, over string) error {
	select {
	case p.asking <- struct{}{}:
		defer func() { <-p.asking }()
	case <-ctx.Done():
		return ctx.Err()
	}
	p.mu.Lock()
	another, refused := p.token != over, p.refused
	if time.Since(p.at) > askAgain {
		refused = nil
	}
	p.mu.Unlock()
	if another || refused != nil {
		return refused
	}
	given, err := etcdserverpb.NewAuthClient(c).Authenticate(ctx, &etcdserverpb.AuthenticateRequest{Name: p.user, Password: p.password})
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.refused = nil; err == nil {
		p.token = given.Token
	} else if refuses(rpctypes.Error(err)) {
		p.refused, p.at = err, time.Now()
	}
	return err
}
