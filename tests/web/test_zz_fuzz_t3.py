import itertools, pytest
BAD=["-1","0","1e999","nan","inf","1e-999999","9"*400,"１２","1,5","5 stone","=1+1","<b>x</b>","\x00","\u202e","' OR 1=1 --","a"*5000,"ß"*130]
def test_hostile(client, shop):
    shop.day.clean_down(by="marek", key="clean")
    r=client.post("/daybook/mince/begin",data=dict(key="a",by="marek",way="own",machine="G1",name="M",lot="trim|B-41F.07",weight="10"))
    assert r.status_code==303
    H="/daybook/mince/26160-G1-01"; n=0
    for act in ["own","box","ingredient","out","left","lost","none","made","tell","back","close","reopen","zzz"]:
        for f in ["weight","lot","what","establishment","supplier_lot","produced_on","contains","case_id","use_by","place","why","part","line","by","key","done_time","done_day","unit"]:
            for bad in BAD:
                n+=1
                d=dict(key=f"k{n}",by="marek",weight="0.01",lot="trim|B-41F.07",what="x",establishment="e",supplier_lot="s",case_id="C11",place="bin",why="w",part="1",line="1")|{f:bad}
                r=client.post(f"{H}/{act}",data=d)
                assert r.status_code in (303,404,409,422,400),(act,f,bad,r.status_code)
                assert "Traceback" not in r.text and "Internal" not in r.text
                assert "<b>x</b>" not in r.text
    for bad in BAD:
        for f in ["machine","name","way","species","case_id","lot"]:
            for kind in ("mince","batch"):
                n+=1
                r=client.post(f"/daybook/{kind}/begin",data=dict(key=f"k{n}",by="marek",way="own",machine="G1",name="M",lot="trim|B-41F.07",weight="1",case_id="C22")|{f:bad})
                assert r.status_code in (303,404,409,422,400),(f,bad,r.status_code)
    from urllib.parse import quote
    for bad in BAD:
        for u in [f"/daybook/mince/{quote(bad[:300],safe='')}",f"/daybook/mince/{quote(bad[:300],safe='')}/csv",f"{H}/{quote(bad[:300],safe='')}",f"{H}/tell?part={quote(bad)}",f"{H}?done={quote(bad)}",f"/daybook/batch/begin?way={quote(bad)}"]:
            r=client.get(u); assert r.status_code in (200,303,404,405,422,409),(u[:80],r.status_code)
    assert shop.check()==[]
    assert client.get(H).status_code==200 and client.get(H+"/csv").status_code==200 and client.get("/daybook/mince").status_code==200
    import threading
def test_get_writes_nothing(client, shop):
    from sqlalchemy import event
    from sqlalchemy.engine import Engine
    seen=[]
    event.listen(Engine,"before_cursor_execute",lambda c,cu,s,*a: seen.append(s))
    for u in ["/daybook/mince","/daybook/batch","/daybook/mince/26159-G1-01","/daybook/batch/26159-B-01/csv","/daybook/mince/begin","/daybook/mince/26159-G1-01/tell?part=1","/daybook/mince/26159-G1-01/close"]:
        client.get(u)
    assert not [s for s in seen if s.split()[0].upper() in ("INSERT","UPDATE","DELETE")]
