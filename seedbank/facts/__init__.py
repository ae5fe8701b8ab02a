"""Published facts about crop kinds, each with its source and how far it was checked."""
