package ordeal

import (
	"bytes"
	"os/exec"
	"sync"
)

// outcome is what a process said and how it ended.
type outcome struct {
	out, err []byte
	code     int // -1: killed, or never begun
}

// crew is the processes that one blow hits. After the blow none is begun.
type crew struct {
	mu      sync.Mutex
	over    bool
	running map[*exec.Cmd]bool
}

// begins starts a process, unless the blow has fallen.
func (w *crew) begins(c *exec.Cmd) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.over || c.Start() != nil {
		return false
	}
	if w.running == nil {
		w.running = map[*exec.Cmd]bool{}
	}
	w.running[c] = true
	return true
}

func (w *crew) ends(c *exec.Cmd) {
	w.mu.Lock()
	defer w.mu.Unlock()
	delete(w.running, c)
}

// strike kills every process of the crew, and returns how many were running.
func (w *crew) strike() int {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.over = true
	for c := range w.running {
		_ = c.Process.Kill()
	}
	return len(w.running)
}

// finish runs a process to its end. A nil crew is one that no blow hits.
func (w *crew) finish(c *exec.Cmd) outcome {
	if w == nil {
		w = &crew{}
	}
	var out, complaint bytes.Buffer
	c.Stdout, c.Stderr = &out, &complaint
	if !w.begins(c) {
		return outcome{code: -1}
	}
	_ = c.Wait() // told by the code
	w.ends(c)
	return outcome{out.Bytes(), complaint.Bytes(), c.ProcessState.ExitCode()}
}
