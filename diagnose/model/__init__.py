"""What the program knows: the book of knowledge, the rig, the case, and a rig's own network."""
