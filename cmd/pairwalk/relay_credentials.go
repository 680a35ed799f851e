package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"pairwalk/syncd/depot"
	"pairwalk/syncd/member"
)

type relayCredentialsCmd struct {
	Folder string   `arg:"" help:"Where to write them; it must not be there yet." placeholder:"DIR"`
	Nodes  []string `default:"nats-1,nats-2,nats-3" help:"Host names of the three servers, as the others and the relays call them." placeholder:"HOST"`
}

func (relayCredentialsCmd) Help() string {
	return "Example: pairwalk relay credentials .credentials\n\n" +
		"Makes all that a cluster and its relays know each other by: an authority, the servers' certificates, a key for each caller, " +
		"and each relay's secret. The files can be read by you alone. docker-compose.yml expects them in .credentials."
}

func (c *relayCredentialsCmd) Run(a *app) error {
	if len(c.Nodes) != 3 {
		return usef("name three servers with --nodes, such as nats-1,nats-2,nats-3; fewer can't lose one and go on")
	}
	for i, node := range c.Nodes {
		if err := depot.CheckNode(node); err != nil {
			return usef("--nodes: %w", err)
		}
		if slices.Contains(c.Nodes[:i], node) {
			return usef("--nodes names %s twice", node)
		}
	}
	files, err := depot.NewCredentials(c.Nodes, a.world.Now().Wall.At.Time())
	if err != nil {
		return err
	}
	if err := writeCredentials(c.Folder, files); err != nil {
		return err
	}
	return c.made(a, files)
}

// writeCredentials writes all files into a folder that was not there. It is put in
// its place whole.
func writeCredentials(folder string, files []depot.Credential) error {
	if _, err := os.Lstat(folder); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s is there already, and the keys in it may be in use; name another folder", folder)
	}
	parent := filepath.Dir(filepath.Clean(folder))
	if err := os.MkdirAll(parent, 0o700); err != nil {
		return fmt.Errorf("write credentials: %w", err)
	}
	made, err := os.MkdirTemp(parent, ".pairwalk-credentials-")
	if err != nil {
		return fmt.Errorf("write credentials: %w", err)
	}
	for _, f := range files {
		if err == nil {
			err = writeSecret(filepath.Join(made, filepath.FromSlash(f.Path)), f.Content)
		}
	}
	if err == nil {
		err = os.Rename(made, folder)
	}
	if err != nil {
		return errors.Join(fmt.Errorf("write credentials: %w", err), os.RemoveAll(made))
	}
	return nil
}

func writeSecret(name string, content []byte) error {
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return err
	}
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(content)
	return errors.Join(err, f.Sync(), f.Close())
}

func (c *relayCredentialsCmd) made(a *app, files []depot.Credential) error {
	until := a.world.Now().Wall.At.Time().Add(depot.ServerHolds).Format(time.DateOnly)
	if a.cli.JSON {
		docs := make([]map[string]any, len(files))
		for i, f := range files {
			docs[i] = map[string]any{"file": f.Path, "is": f.Words}
		}
		return a.printJSON(map[string]any{"v": member.AnswerVersion, "folder": c.Folder, "files": docs, "servers_until": until})
	}
	t := table{head: []string{"file", "what it is"}}
	for _, f := range files {
		t.add(f.Path, f.Words)
	}
	a.table(&t)
	a.printf("\nWritten to %s, for you alone. The servers' certificates hold until %s.\n", c.Folder, until)
	a.println("Keep a copy of each relay.secret where the recovery sheets are. Move authority/ca.key off the servers.")
	return nil
}
