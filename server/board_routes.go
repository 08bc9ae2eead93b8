package server

// boardRoutes lists the addresses of boards on the bench.
func (a *app) boardRoutes(get, post func(string, handler)) {
	get("/boards/{id}/map", a.mapShow)
	post("/boards/{id}/map", a.mapCreate)
	post("/boards/{id}/map/undo", a.mapUndo)
	post("/boards/{id}/nails", a.nailsCreate)
	post("/boards/{id}/marks", a.boardMark)
	post("/boards/{id}/ends", a.boardEnds)
	get("/boards/{id}/cut", a.cutShow)
	post("/boards/{id}/cut", a.cutCreate)
	post("/boards/{id}/cut/undo", a.cutUndo)
	get("/boards/{id}/map.svg", a.boardHandler(mapPicture))
	get("/boards/{id}/grade.svg", a.boardHandler(gradePicture))
	get("/boards/{id}/usable.svg", a.boardHandler(usablePicture))
	get("/boards/{id}/cut.svg", a.boardHandler(cutPicture))
	post("/settings/allowances", a.settingsAllowance)
	get("/lots/{id}/nails", a.lotNails)
	post("/lots/{id}/nails", a.lotNailsPut)
	post("/lots/{id}/nails/undo", a.lotNailsUndo)
	post("/lots/{id}/marks", a.lotMark)
}
