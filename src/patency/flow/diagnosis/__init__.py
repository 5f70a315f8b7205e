"""What a cycle's pressures, flows and arms can and cannot have been: ranked explanations, never a proof of feeding."""
