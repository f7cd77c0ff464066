package advise

import "time"

// Away is a time in which nobody comes to the cellar, both days included.
type Away struct{ From, To time.Time }
