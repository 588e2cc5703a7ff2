"""What an event is: its words, its file, its catalogue, its diary. Imports no other room."""
