module pairwalk

go 1.26.0

require (
	github.com/alecthomas/kong v1.17.0
	github.com/gofrs/flock v0.13.2
	github.com/maruel/natural v1.3.0
	github.com/oklog/ulid/v2 v2.1.1
	github.com/posener/complete v1.2.3
	github.com/rogpeppe/go-internal v1.16.0
	github.com/schollz/progressbar/v3 v3.19.1
	github.com/skip2/go-qrcode v0.0.0-20200617195104-da1b6568686e
	github.com/stretchr/testify v1.12.1
	github.com/tyler-smith/go-bip39 v1.1.0
	github.com/willabides/kongplete v0.4.0
	golang.org/x/sys v0.50.0
	golang.org/x/term v0.44.0
	pgregory.net/rapid v1.3.0
)

require (
	github.com/hashicorp/errwrap v1.1.0 // indirect
	github.com/hashicorp/go-multierror v1.1.1 // indirect
	github.com/mitchellh/colorstring v0.0.0-20190213212951-d06e56a500db // indirect
	github.com/rivo/uniseg v0.4.7 // indirect
	github.com/riywo/loginshell v0.0.0-20200815045211-7d26008be1ab // indirect
	go.yaml.in/yaml/v3 v3.0.5 // indirect
	golang.org/x/crypto v0.0.0-20200622213623-75b288015ac9 // indirect
	golang.org/x/tools v0.26.0 // indirect
)
