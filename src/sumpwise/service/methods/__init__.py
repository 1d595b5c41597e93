"""Ways to renew the fill: one object a method, one module a family. Import from the module that holds the name."""
