"""What the band is and has decided: commands become events, events become state. Pure."""
