"""The install record of a job: its model, its entries, its sheet, its climate logs."""
