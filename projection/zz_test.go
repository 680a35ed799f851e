package projection_test
import ("testing";"time";"fmt";"pairwalk/projection";"pairwalk/projection/tale";"pairwalk/events")
func TestZZ(t *testing.T){
 site,said:=invented(t,10000)
 s:=freshly(site,said,projection.Moment{})
 fmt.Println(len(s.Quarantined),len(s.Conflicts),len(s.Anomalies),len(s.Devices),len(s.Resolved), len(s.Comparisons))
 why:=map[string]int{}
 for _,a:=range s.Anomalies{ why[a.Why]++ }
 for w,n:=range why { if n>0 {fmt.Println(n,w)} }
 k:=map[projection.ConflictKind]int{}
 for _,c:=range s.Conflicts{k[c.Kind]++}
 fmt.Println(k)
 lean := map[string]func(s *tale.Story, bo *tale.Teller, i int){
		"comparisons": func(s *tale.Story, bo *tale.Teller, i int) {
			bo.SayAt(minute(i), compared(bo, s.Lead, minute(i), 100))
		},
		"creep": func(s *tale.Story, bo *tale.Teller, i int) {
			bo.Skew += 60_000_000
			bo.SayAt(minute(i), compared(bo, s.Lead, minute(i), 100))
		},
		"set": func(s *tale.Story, bo *tale.Teller, i int) {
			s.Lead.Skew += 1_000_000_000
			s.Lead.SayAt(minute(i), events.HubReady{Hub: "H1"})
		},
		"meet": func(s *tale.Story, bo *tale.Teller, i int) {
			meet(s.Lead, bo)
			bo.SayAt(minute(i), events.HubReady{Hub: "H1"})
			s.Lead.SayAt(minute(i), paired("1-1", "H1"))
		},
		"apart": func(s *tale.Story, bo *tale.Teller, i int) {
			bo.SayAt(minute(i), paired("1-1", "H1"))
			s.Lead.SayAt(minute(i), paired("1-1", "H1"))
		},
		"fork": func(s *tale.Story, bo *tale.Teller, i int) {
			if i==0 { tw:=bo.Branch(); tw.SayAt(minute(i), paired("1-1", "H1")) }
			meet(s.Lead,bo)
			bo.SayAt(minute(i), paired("1-1", "H1"))
			s.Lead.SayAt(minute(i), paired("1-1", "H1"))
		},
		"faults": func(s *tale.Story, bo *tale.Teller, i int) {
			bo.SayAt(minute(i), events.FaultFound{Of: events.Device("1-1"), Symptom: "dark", Severity: events.Minor})
		},
		"cut": func(s *tale.Story, bo *tale.Teller, i int) {
			if i == 0 {
				s.Lead.SayAt(minute(i), events.MemberRevoked{Key: bo.Key, Heads: tale.Cut(bo), Why: "lost"})
			}
			bo.SayAt(minute(i), events.HubReady{Hub: "H1"})
		},
		"renames": func(s *tale.Story, bo *tale.Teller, i int) {
			s.Lead.SayAt(minute(i), events.DeviceRenamed{From: name(i), To: name(i + 1)})
		},
		"oldtag": func(s *tale.Story, bo *tale.Teller, i int) {
			s.Lead.SayAt(minute(i), events.DeviceRenamed{From: name(i), To: name(i + 1)})
			s.Lead.SayAt(minute(i), paired("1-1","H1"))
		},
		"serials": func(s *tale.Story, bo *tale.Teller, i int) {
			s.Lead.SayAt(minute(i), fitted("1-1", events.Serial(name(i+1))))
		},
		"loads": func(s *tale.Story, bo *tale.Teller, i int) {
			s.Lead.SayAt(minute(i), events.HubLoaded{Hub:"H1", Program: events.Program(name(i+1)), Lists: []events.Tag{"1-1"}})
			s.Lead.SayAt(minute(i), events.PushDone{Hub:"H1", Program: "r1"})
		},
		"resolve": func(s *tale.Story, bo *tale.Teller, i int) {
			s.Lead.SayAt(minute(i), paired("1-1","H1"))
			s.Lead.SayAt(minute(i), events.ConflictResolved{Key: "paired-twice:"+string(name(i+1))+":00000000", Why:"x"})
		},
		"circuits": func(s *tale.Story, bo *tale.Teller, i int) {
			r:=lamp(name(i+1),"H1"); r.Circuit="C1"
			s.Lead.SayAt(minute(i), r)
		},
	}
	for w,step:=range lean{
		fmt.Print(w," ")
		for _,n:=range []int{2000,8000}{
			s, bo := duo()
			for i := range n { step(s, bo, i) }
			said := s.Events()
			t0:=time.Now(); freshly(s.Site, said, projection.Moment{}); fmt.Print(time.Since(t0)," ")
		}
		fmt.Println()
	}
}
