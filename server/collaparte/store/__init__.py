"""The log and the files, in SQLite and beside it.

Entry points:

- `folder.BandFolder.make(path, name, what, at, ports)` / `.open(path, what, at)`: holds the folder for this process;
  `.settings` (band id, `host`, `ports.http`, `ports.socket`, `codes.join`, `codes.roles(said)`), `.files`, `.log_path`,
  `.close()`. `folder.settings_of(path)` reads the settings without holding it. They block: not on the event loop.
- `files.Files`: `put(bytes) -> hash`, `get(hash)`, `path(hash)`, `has(hash)`; they block too.
- `await log.Log.open(path, epoch=...)`: `.epoch`, `.seq`, `await .state()` (the fold at start),
  `await .answers([(client, command id)])` (what a command sent again came to),
  `await .append([Entry(client, command, author, events, answer), ...], at)`: all commands of one tick in one commit;
  `LogError` means that nothing changed and is the sentence to tell, `Broken` that the hub must stop.
  A refusal may be logged as an entry without events, so that it too is answered as the first time.
"""
