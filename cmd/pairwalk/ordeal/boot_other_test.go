//go:build !linux

package ordeal

import "errors"

const bootEnv = "ORDEAL_BOOT"

func becomeBooted() error { return errors.New("only Linux can be given a boot") }
