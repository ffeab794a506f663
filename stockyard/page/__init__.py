"""Pages for the bench: a second door to the desk, served to browsers on the shop's own network.

A request goes through `guard` (who may come in at all), then a room's function in `rooms/` asks the desk
and names a template. Rooms hold words and formats: no rule of the yard lives here.

- `serve`     the server itself: where it listens, what it says on its screen
- `guard`     hosts, other origins, sizes, headers, the station's cookie
- `keys`, `pairing`   signed cookies and tokens; codes that pair a new station
- `house`     what one server holds: the yard's path, its keys, plans in the making
- `doors`     requests to rooms and back; every write carries the station's token
- `watch`     one stream a page, which says when the yard has changed
- `hurdles`   what a page says of each error
"""
