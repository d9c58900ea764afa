"""The ways of dealing with a colony: what forbids them and what they leave."""
