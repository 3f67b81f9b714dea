"""The demo season: an invented squad, four testing days, and the trouble a real folder has."""
