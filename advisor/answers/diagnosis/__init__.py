"""From what is seen on the machine to its causes, and the test that tells them apart."""
