"""Charts of the water computed for a load: each lumen's flow and wall shear, the pressure along the manifold."""
