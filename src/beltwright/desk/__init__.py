"""What a person does, one plain function each: survey, prepare, record, judge, open and close a job, plan.

A function here takes a book (anything with the face of `desk.face.Book`) and never knows what kind it is.
"""
