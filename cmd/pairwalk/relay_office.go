package main

import (
	"bytes"
	"cmp"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"

	"pairwalk/events/journal"
	"pairwalk/syncd/depot"
	"pairwalk/syncd/relay"
)

// officeFlags say where a relay's sites are kept.
type officeFlags struct {
	As string `default:"relay" env:"PAIRWALK_RELAY_NAME" help:"What the relay is called on the sites it joins."`

	Nats            []string `env:"PAIRWALK_NATS" help:"Keep the sites in a cluster and not in this home: addresses of its NATS servers. Several relays may share one." placeholder:"tls://HOST:PORT"`
	NatsCredentials string   `env:"PAIRWALK_NATS_CREDENTIALS" help:"With --nats: this relay's folder of what relay credentials made, such as .credentials/relay-1." placeholder:"DIR"`
	NatsReplicas    int      `default:"3" help:"With --nats: on how many of its servers everything is kept; 1 only where there is one server."`
}

// relayOffice is where the sites are kept, and this process's own folder.
type relayOffice struct {
	relay.Office
	folder string
}

// office opens what the flags name.
func (f officeFlags) office(a *app, log *slog.Logger) (relayOffice, error) {
	if err := a.notReading(); err != nil {
		return relayOffice{}, err
	}
	dir, err := a.homeDir()
	if err == nil {
		err = os.MkdirAll(dir, 0o700)
	}
	if err != nil {
		return relayOffice{}, err
	}
	if len(f.Nats) > 0 || f.NatsCredentials != "" {
		at, err := f.cluster(a, log)
		return relayOffice{at, dir}, err
	}
	return relayOffice{relay.AtHome(journal.Dir(dir), f.As, a.world), dir}, nil
}

// waitingLog says on standard error why a command that ends by itself waits: a cluster
// that is starting is given a minute.
func (a *app) waitingLog() *slog.Logger {
	bare := func(_ []string, x slog.Attr) slog.Attr {
		if x.Key == slog.TimeKey || x.Key == slog.LevelKey {
			return slog.Attr{}
		}
		return x
	}
	return slog.New(slog.NewTextHandler(a.stderr, &slog.HandlerOptions{ReplaceAttr: bare}))
}

// cluster reaches the cluster that the flags name.
func (f officeFlags) cluster(a *app, log *slog.Logger) (relay.Office, error) {
	if len(f.Nats) == 0 || f.NatsCredentials == "" {
		return nil, usef("--nats and --nats-credentials go together; the credentials are made by: %s relay credentials DIR", a.name)
	}
	if f.NatsReplicas < 1 || f.NatsReplicas > 5 {
		return nil, usef("--nats-replicas takes 1 to 5; 3 outlive the loss of one server")
	}
	read := func(name string) ([]byte, error) {
		b, err := os.ReadFile(filepath.Join(f.NatsCredentials, name))
		if err != nil {
			return nil, fmt.Errorf("read this relay's credentials: %w; they are made by: %s relay credentials DIR", err, a.name)
		}
		return bytes.TrimSpace(b), nil
	}
	ca, noCA := read(depot.CAFile)
	user, noUser := read(depot.UserFile)
	text, noSecret := read(depot.SecretFile)
	if err := cmp.Or(noCA, noUser, noSecret); err != nil {
		return nil, err
	}
	secret, err := depot.ParseSecret(string(text))
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", filepath.Join(f.NatsCredentials, depot.SecretFile), err)
	}
	o := depot.Options{URLs: f.Nats, CA: ca, Nkey: user, Name: f.As + " " + secret.Instance(), Replicas: f.NatsReplicas, Log: log}
	at, err := depot.Open(a.ctx, o, secret, f.As, a.world)
	if err != nil { // not a nil *depot.Office in an interface
		return nil, err
	}
	return at, nil
}
