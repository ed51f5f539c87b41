"""Who comes when: the coming weeks as visits, three ways of planning compared, moved by hand, booked."""
