package main

import (
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/alecthomas/kong"
	"github.com/nats-io/nats-server/v2/server"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"pairwalk/syncd/depot"
)

const top = "../.."

// composition is docker-compose.yml, as far as it must fit the rest.
type composition struct {
	Services map[string]service
	Volumes  map[string]any
}

type service struct {
	Image string
	Build struct {
		Context string
		Inline  string `yaml:"dockerfile_inline"`
	}
	Command     []string
	EnvFile     []string `yaml:"env_file"`
	Environment map[string]string
	Volumes     []string
	Ports       []string
	Restart     string
	Grace       time.Duration `yaml:"stop_grace_period"`
	Healthcheck struct{ Test []string }
	DependsOn   []string `yaml:"depends_on"`
}

// defaulted is a text with its ${NAME:-default} as they are where nothing is set.
func defaulted(text string) string {
	return regexp.MustCompile(`\$\{\w+:-([^}]*)\}`).ReplaceAllString(text, "$1")
}

func compose(t *testing.T) composition {
	b, err := os.ReadFile(filepath.Join(top, "docker-compose.yml"))
	require.NoError(t, err)
	var c composition
	require.NoError(t, yaml.Unmarshal([]byte(defaulted(string(b))), &c))
	return c
}

// kind lists services by the beginning of their names.
func (c composition) kind(prefix string) (names []string) {
	for name := range c.Services {
		if strings.HasPrefix(name, prefix) {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

// mounts are what a service's volumes put where.
func (s service) mounts() map[string]string {
	out := map[string]string{}
	for _, v := range s.Volumes {
		parts := strings.Split(v, ":")
		out[parts[1]] = parts[0]
	}
	return out
}

// credentials is what the command makes for the servers of the file, in a folder.
func (c composition) credentials(t *testing.T) (folder string, files []string) {
	made, err := depot.NewCredentials(c.kind("nats-"), time.Now())
	require.NoError(t, err)
	folder = filepath.Join(t.TempDir(), "made")
	require.NoError(t, writeCredentials(folder, made))
	for _, f := range made {
		files = append(files, ".credentials/"+f.Path)
	}
	return folder, files
}

// Every file that the composition mounts is in the repository, or made by the
// command that makes credentials, or a volume that it names.
func TestComposeMountsWhatThereIs(t *testing.T) {
	c := compose(t)
	_, files := c.credentials(t)
	require.Len(t, c.kind("nats-"), 3)
	require.Len(t, c.kind("relay-"), depot.Relays)
	require.Len(t, c.Services, 3+depot.Relays)
	for name, s := range c.Services {
		require.Equal(t, "unless-stopped", s.Restart, name)
		require.NotEmpty(t, s.Healthcheck.Test, name)
		require.GreaterOrEqual(t, s.Grace, 30*time.Second, name)
		for _, from := range s.mounts() {
			switch {
			case strings.HasPrefix(from, "./.credentials/"):
				require.True(t, slices.ContainsFunc(files, func(f string) bool { return strings.HasPrefix("./"+f, from+"/") }), "%s mounts %s, which nobody makes", name, from)
			case strings.HasPrefix(from, "./"):
				require.FileExists(t, filepath.Join(top, from))
			default:
				require.Contains(t, c.Volumes, from)
			}
		}
		for _, f := range s.EnvFile {
			require.Contains(t, files, strings.TrimPrefix(f, "./"))
		}
	}
}

// The servers are of the version that is tested here, and their configuration, with
// the environment that the composition gives them, is one that they take.
func TestComposeRunsTheServersThatAreTested(t *testing.T) {
	c := compose(t)
	folder, _ := c.credentials(t)
	gomod, err := os.ReadFile(filepath.Join(top, "go.mod"))
	require.NoError(t, err)
	version := regexp.MustCompile(`nats-server/v2 v(\S+)`).FindSubmatch(gomod)
	conf, err := os.ReadFile(natsConf)
	require.NoError(t, err)
	keys, err := os.ReadFile(filepath.Join(folder, "nats.env"))
	require.NoError(t, err)
	for _, name := range c.kind("nats-") {
		s := c.Services[name]
		require.Equal(t, "nats:"+string(version[1])+"-alpine", s.Image)
		require.Equal(t, name, s.Environment["PAIRWALK_NODE"])
		require.Equal(t, []string{"nats-server", "--config", "/etc/nats/nats.conf"}, s.Command)
		require.Equal(t, "./syncd/depot/cluster/nats.conf", s.mounts()["/etc/nats/nats.conf"])
		require.Equal(t, "./.credentials/"+name, s.mounts()["/credentials"])
		require.Equal(t, name, s.mounts()["/data"])
		require.Equal(t, "/data", s.Environment["PAIRWALK_STORE"])

		env := map[string]string{}
		for k, v := range s.Environment {
			env[k] = strings.ReplaceAll(v, "/credentials/", filepath.Join(folder, name)+"/")
		}
		for line := range strings.Lines(string(keys)) {
			if k, v, ok := strings.Cut(strings.TrimSpace(line), "="); ok {
				env[k] = v
			}
		}
		for _, used := range regexp.MustCompile(`(?m): ?\$(PAIRWALK_\w+)`).FindAllSubmatch(conf, -1) {
			require.Contains(t, env, string(used[1]))
		}
		for k, v := range env {
			require.Contains(t, string(conf), "$"+k, "nobody asks for it")
			t.Setenv(k, v)
		}
		o, err := server.ProcessConfigFile(natsConf)
		require.NoError(t, err)
		require.Equal(t, name, o.ServerName)
		require.Len(t, o.Routes, 3)
		for _, r := range o.Routes {
			require.Contains(t, c.Services, r.Hostname())
			require.Equal(t, fmt.Sprint(o.Cluster.Port), r.Port())
		}
		require.True(t, o.SyncAlways, "what is confirmed is on disk")
		require.True(t, o.JetStream)
		require.NotNil(t, o.TLSConfig)
		require.NotNil(t, o.Cluster.TLSConfig)
		require.Equal(t, "127.0.0.1", o.HTTPHost, "how the server is, is told on its own machine alone")
		require.Contains(t, strings.Join(s.Healthcheck.Test, " "), net.JoinHostPort(o.HTTPHost, fmt.Sprint(o.HTTPPort)))
		for _, relay := range c.kind("relay-") {
			require.Contains(t, c.Services[relay].Environment["PAIRWALK_NATS"], "tls://"+net.JoinHostPort(name, fmt.Sprint(o.Port)))
		}
		require.Len(t, o.Nkeys, depot.Relays+2)
		for _, u := range o.Nkeys {
			relay := slices.Contains([]string{env["PAIRWALK_RELAY_1"], env["PAIRWALK_RELAY_2"]}, u.Nkey)
			require.Equal(t, relay, u.Permissions != nil, "relays alone are held to their own subjects")
		}
	}
}

// The relays' command line is one that the command takes, and ports and health fit
// it.
func TestComposeRunsTheRelayCommand(t *testing.T) {
	c := compose(t)
	seen := map[string]bool{}
	for _, name := range c.kind("relay-") {
		s := c.Services[name]
		for k, v := range s.Environment {
			t.Setenv(k, v)
		}
		var line cli
		parser, err := kong.New(&line, groups, kong.Writers(io.Discard, io.Discard))
		require.NoError(t, err)
		_, err = parser.Parse(s.Command)
		require.NoError(t, err)
		run := line.Relay.Run
		require.NoError(t, run.check())
		require.Equal(t, s.Environment["PAIRWALK_HOME"], line.Home)
		require.Equal(t, name, run.As)
		require.Len(t, run.Nats, 3)
		require.Equal(t, "./.credentials/"+name, s.mounts()[run.NatsCredentials])
		require.Greater(t, s.Grace, run.Drain, "it is given the time that draining may take")
		require.Contains(t, strings.Join(s.Healthcheck.Test, " "), "http://"+run.Status+"/healthz")
		require.Len(t, s.Ports, 1)
		outside, inside, _ := strings.Cut(s.Ports[0], ":")
		require.Equal(t, run.Listen, ":"+inside)
		require.False(t, seen[outside], "two relays at one port")
		seen[outside] = true
		require.Equal(t, c.kind("nats-"), s.DependsOn)
		require.Equal(t, ".", s.Build.Context)
		require.Contains(t, s.Build.Inline, "./cmd/pairwalk")
	}
}

// Keys never get into an image.
func TestTheImageIsBuiltWithoutCredentials(t *testing.T) {
	for _, name := range []string{".dockerignore", ".gitignore"} {
		b, err := os.ReadFile(filepath.Join(top, name))
		require.NoError(t, err)
		require.Contains(t, string(b), ".credentials")
	}
}
