"""The glass cover: a plate of glass on the film, kept in its pocket by catches."""
