package server

import (
	"net/http"

	"skepwood/db"
)

// pickupShowPage is one visit: the drive, its lots, its history.
type pickupShowPage struct {
	base
	Pickup  db.Pickup
	Lots    []db.LotRow
	Sum     db.PickupSum
	History []db.History
}

func (a *app) pickupShow(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	page := &pickupShowPage{}
	if page.Pickup, err = db.Pickups.Get(r.Context(), a.store, id); err != nil {
		return err
	}
	page.base = a.base(r, dayText(page.Pickup.Day)+", "+page.Pickup.Source.Key)
	if page.Lots, err = a.store.LotsOfPickup(r.Context(), id); err != nil {
		return err
	}
	if page.Sum, err = a.store.PickupSum(r.Context(), id); err != nil {
		return err
	}
	if page.History, err = a.store.HistoryOf(r.Context(), "pickup", id); err != nil {
		return err
	}
	return a.show(w, "pickup_show", page)
}
