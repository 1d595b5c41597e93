"""Ways to renew the fill: one object for each method, one module for each family. Import from the module that defines the name."""
