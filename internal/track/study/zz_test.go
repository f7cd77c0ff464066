package study
import ("testing";"fmt";"elevage/internal/track")
func TestTrace(t *testing.T){
 for seed:=uint64(1);seed<=14;seed++ {
  l:=NewLot(seed); fmt.Printf("== lot %d law %d m0 %.2f finish %d stall %d\n",seed,l.Law,l.Malic[0],l.Finish,l.Stall)
  readings := Set{Has: map[track.What]bool{track.Temperature:true,track.PH:true}}.Pick(l.Readings)
  ask := func(d int) track.Belief { b,_:=track.Malo(track.Input{Facts:l.Facts,Readings:readings,At:Start.AddDate(0,0,d),Options:track.Options{Particles:400}}); return b }
  for d:=7;d<=span;d+=7 {
   b:=ask(d); n:=b.NextTest
   k:=look{belief:b}
   on:=-1.0; if n.On!=nil {on=dayOf(n.On)}
   s:=fmt.Sprintf("  d%d m%.2f P%.2f tr%.2f st%.2f next %s@%.0f ",d,l.Malic[d],b.PFinished,k.trace(),b.State.Stalled,n.What,on)
   if n.On!=nil && on<=float64(d)+3 { r:=l.Read(track.What(n.What),d); readings=append(readings,r); b=ask(d); k=look{belief:b}; s+=fmt.Sprintf("READ %s -> P%.2f tr%.3f st%.2f %s",r.Text,b.PFinished,k.trace(),b.State.Stalled,b.Decision.Call) }
   if d+14>=l.Finish || n.On!=nil && on<=float64(d)+3 { fmt.Println(s) }
   if b.Decision.Call==track.CallFinished||b.Decision.Call==track.CallStalled {break}
  }
 }
}
