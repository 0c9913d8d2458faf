"""What building costs and needs: bills, carry-over, kits, the assembly guide, and what is wrong with a builder's unit."""
