package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// natsConf is the configuration that docker-compose.yml runs the servers with.
const natsConf = "../../syncd/depot/cluster/nats.conf"

// cluster is three server processes and what they are reached by, with the
// credentials that the command makes.
type cluster struct {
	t       testing.TB
	dir     string
	program string
	creds   string
	nodes   []*clusterNode
}

// clusterNode is one server, with a disk of its own.
type clusterNode struct {
	name                   string
	client, route, monitor string
	process                *killable
}

// killable is a process that was started and that this test ends.
type killable struct {
	cmd  *exec.Cmd
	done chan struct{}
	out  *bytes.Buffer // to be read once it is done
}

func start(t testing.TB, c *exec.Cmd) *killable {
	p := &killable{cmd: c, done: make(chan struct{}), out: &bytes.Buffer{}}
	c.Stdout, c.Stderr = p.out, p.out
	require.NoError(t, c.Start())
	go func() {
		defer close(p.done)
		_ = c.Wait()
	}()
	t.Cleanup(p.kill)
	return p
}

// kill is kill -9.
func (p *killable) kill() {
	_ = p.cmd.Process.Kill()
	<-p.done
}

func newCluster(t testing.TB) *cluster {
	c := &cluster{t: t, dir: t.TempDir()}
	c.program = filepath.Join(c.dir, "nats-server")
	out, err := exec.Command("go", "build", "-o", c.program, "github.com/nats-io/nats-server/v2").CombinedOutput()
	require.NoError(t, err, string(out))
	c.creds = filepath.Join(c.dir, "credentials")
	c.credentials(c.creds)
	for i := range 3 {
		c.nodes = append(c.nodes, &clusterNode{
			name: fmt.Sprintf("nats-%d", i+1), client: freeAddr(t), route: freeAddr(t), monitor: freeAddr(t),
		})
	}
	for _, n := range c.nodes {
		c.up(n)
	}
	return c
}

// credentials makes a cluster's credentials, as people do.
func (c *cluster) credentials(folder string) {
	out, err := exec.Command("pairwalk", "--home", filepath.Join(c.dir, "nobody"), "relay", "credentials", folder).CombinedOutput()
	require.NoError(c.t, err, string(out))
}

// up starts a server, on the disk it had before if it had one.
func (c *cluster) up(n *clusterNode) {
	conf, err := filepath.Abs(natsConf)
	require.NoError(c.t, err)
	keys, err := os.ReadFile(filepath.Join(c.creds, "nats.env"))
	require.NoError(c.t, err)
	var peers []string
	for _, x := range c.nodes {
		peers = append(peers, strconv.Quote("nats-route://"+x.route))
	}
	at := filepath.Join(c.creds, n.name)
	cmd := exec.Command(c.program, "--config", conf)
	cmd.Dir = c.dir
	cmd.Env = append(strings.Split(string(keys), "\n"),
		"PATH="+os.Getenv("PATH"), "PAIRWALK_NODE="+n.name, "PAIRWALK_CLIENTS="+n.client, "PAIRWALK_CLUSTER="+n.route, "PAIRWALK_MONITOR="+n.monitor,
		"PAIRWALK_PEERS=["+strings.Join(peers, ",")+"]", "PAIRWALK_STORE="+filepath.Join(c.dir, "store-"+n.name),
		"PAIRWALK_TLS_CA="+filepath.Join(at, "ca.pem"), "PAIRWALK_TLS_CERT="+filepath.Join(at, "cert.pem"), "PAIRWALK_TLS_KEY="+filepath.Join(at, "key.pem"))
	n.process = start(c.t, cmd)
	c.t.Cleanup(func() {
		n.process.kill()
		if c.t.Failed() {
			c.t.Logf("%s said last:\n%s", n.name, tail(n.process.out.String()))
		}
	})
}

// tail is the end of what a process said.
func tail(text string) string {
	lines := strings.Split(strings.TrimSpace(text), "\n")
	return strings.Join(lines[max(0, len(lines)-15):], "\n")
}

// leader is the server that leads the stream of entries, as one that is up says.
func (c *cluster) leader() *clusterNode {
	var name string
	require.Eventually(c.t, func() bool {
		for _, n := range c.nodes {
			var doc struct {
				Accounts []struct {
					Streams []struct {
						Name    string
						Cluster struct{ Leader string }
					} `json:"stream_detail"`
				} `json:"account_details"`
			}
			if json.Unmarshal(pageAt("http://"+n.monitor+"/jsz?accounts=1&streams=1"), &doc) != nil {
				continue
			}
			for _, a := range doc.Accounts {
				for _, s := range a.Streams {
					if s.Name == "PAIRWALK" && s.Cluster.Leader != "" {
						name = s.Cluster.Leader
						return true
					}
				}
			}
		}
		return false
	}, 30*time.Second, 50*time.Millisecond)
	for _, n := range c.nodes {
		if n.name == name {
			return n
		}
	}
	c.t.Fatalf("no server is called %s", name)
	return nil
}

// pageAt is what an address says, nothing where nobody answers.
func pageAt(addr string) []byte {
	client := http.Client{Timeout: 2 * time.Second}
	r, err := client.Get(addr)
	if err != nil {
		return nil
	}
	defer r.Body.Close()
	b, _ := io.ReadAll(r.Body)
	return b
}

// clusterRelay is a relay process whose sites are in the cluster. Its home is empty
// whenever it starts.
type clusterRelay struct {
	c            *cluster
	name         string
	addr, status string
	starts       int
	process      *killable
}

func (c *cluster) relay(number int) *clusterRelay {
	r := &clusterRelay{c: c, name: fmt.Sprintf("relay-%d", number), addr: freeAddr(c.t), status: freeAddr(c.t)}
	return r
}

// args are a relay's command line for a verb.
func (r *clusterRelay) args(verb ...string) []string {
	r.starts++
	home := filepath.Join(r.c.dir, fmt.Sprintf("%s-home-%d", r.name, r.starts))
	var urls []string
	for _, n := range r.c.nodes {
		urls = append(urls, "tls://"+n.client)
	}
	args := append([]string{"--home", home, "relay"}, verb...)
	return append(args, "--as", r.name, "--nats", strings.Join(urls, ","), "--nats-credentials", filepath.Join(r.c.creds, r.name))
}

func (r *clusterRelay) up() {
	cmd := exec.CommandContext(context.Background(), "pairwalk", r.args("run", "--listen", r.addr, "--status", r.status, "--log", "debug")...)
	cmd.Env = append(os.Environ(), "TZ=UTC")
	p := start(r.c.t, cmd)
	r.process = p
	r.c.t.Cleanup(func() {
		p.kill()
		if r.c.t.Failed() {
			r.c.t.Logf("%s said last:\n%s", r.name, tail(p.out.String()))
		}
	})
	require.Eventually(r.c.t, r.well, 2*time.Minute, 20*time.Millisecond, "the relay never was well")
}

// well is what the relay says of itself.
func (r *clusterRelay) well() bool {
	return strings.HasPrefix(string(pageAt("http://"+r.status+"/healthz")), "ok")
}

// took is how many entries the relay took in and acknowledged.
func (r *clusterRelay) took() int {
	found := regexp.MustCompile(`(?m)^pairwalk_relay_entries_taken_total (\S+)`).FindSubmatch(pageAt("http://" + r.status + "/metrics"))
	if found == nil {
		return 0
	}
	f, err := strconv.ParseFloat(string(found[1]), 64)
	require.NoError(r.c.t, err)
	return int(f)
}

// joins makes the relay a member of the desk's site, of which its lead hears.
func (r *clusterRelay) joins(d *desk) {
	token, err := d.ann.Invite(events.RelayRole, time.Hour, "")
	require.NoError(r.c.t, err)
	file := filepath.Join(r.c.dir, r.name+".introduction")
	out, err := exec.Command("pairwalk", r.args("join", token.String(), "--out", file)...).CombinedOutput()
	require.NoError(r.c.t, err, string(out))
	b, err := os.Open(file)
	require.NoError(r.c.t, err)
	defer b.Close()
	got, err := d.ann.BundleIn(context.Background(), b)
	require.NoError(r.c.t, err)
	require.Equal(r.c.t, []string{r.name}, got.Admitted)
}
