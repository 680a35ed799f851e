// Package bus carries the exchange of logs over NATS.
package bus
