package invent_test

import (
	"testing"
	"fmt"
	"pairwalk/testdata/invent"
	"time"
)
func TestSmoke(t *testing.T) {
	st:=time.Now(); n:=0; k:=map[string]int{}
	for e := range invent.History(1,8,1000000).Events() { n++; k[string(e.Kind())]++; if n%100000==0 {fmt.Println(n, e.Wall.At, e.Payload)} }
	fmt.Println(n,time.Since(st),k)
	st=time.Now(); n=0; b:=0
	for v := range invent.History(1,8,20000).Lines() { n++; b+=len(v.Line()); if n>19990 {fmt.Println(string(v.Line()))} }
	fmt.Println(n,b,time.Since(st))
}
