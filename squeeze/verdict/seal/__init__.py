"""Whether resin can get through: barriers on the lands, leaks past them."""
