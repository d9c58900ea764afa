"""What people can see at a wall, as likelihoods."""
