"""Messages, commands, events and views with their versions: the whole vocabulary between hub and stands."""
