package main

import (
	"os"

	"github.com/alecthomas/kong"
	"github.com/posener/complete"
	"github.com/willabides/kongplete"
)

type completeCmd struct{}

func (completeCmd) Help() string {
	return "Example: pairwalk complete >> ~/.bashrc\n\nFor bash and zsh. The line makes the shell ask pairwalk itself how to go on."
}

func (completeCmd) Run(a *app) error {
	path, err := os.Executable()
	if err != nil {
		return err
	}
	a.printf("complete -C %s pairwalk\n", quoted(path))
	return nil
}

// completing answers the shell when it asks how a line may go on.
func (a *app) completing(parser *kong.Kong) (done bool, err error) {
	if a.env("COMP_LINE") == "" {
		return false, nil
	}
	command, err := kongplete.Command(parser)
	if err != nil {
		return true, err
	}
	return complete.New(parser.Model.Name, command).Complete(), nil
}
