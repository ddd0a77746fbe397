"""Tables and programs for controllers, one module a format, templates beside them."""
