"""The limits of the event: each rule an object, and the count of what has been used."""
