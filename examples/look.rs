use brimline::carm::*; use brimline::fluoro::*; use brimline::pelvis::*; use brimline::units::*;
use rand_xoshiro::rand_core::SeedableRng;
fn main() {
    let t=std::time::Instant::now();
    let mut shape=Shape::average();
    if let Some(d)=std::env::args().nth(2) { let v:Vec<f64>=d.split(',').map(|x|x.parse().unwrap()).collect(); shape.dysmorphism=[v[0],v[1]]; }
    if let Some(s)=std::env::args().nth(3) { shape=Shape::of_seed(s.parse().unwrap()); println!("{shape:?}"); }
    let p=Pelvis::of(&shape);
    println!("built {:?}",t.elapsed());
    for b in p.bones() { println!("{} {} closed {:?} {:?} vol {:.1} cm3",b.outer.triangles.len(),b.inner.triangles.len(),b.outer.closed(),b.inner.closed(),b.outer.volume()/1000.0); }
    let out=std::env::args().nth(1).unwrap();
    let raster=Raster::square(512,300.0);
    let mut rng=rand_xoshiro::Xoshiro256PlusPlus::seed_from_u64(1);
    for (name,pr,se) in [("ap",180.0,0.0),("inlet",180.0,-25.0),("outlet",180.0,43.0),("lateral",90.0,0.0)] {
        let a=PositionerAngles{primary:Degrees(pr),secondary:Degrees(se)};
        let pose=Pose::looking(a.beam(),Point::new(0.0,20.0,-20.0),Millimetres(650.0),Millimetres(1000.0),Degrees(0.0));
        let t=std::time::Instant::now();
        let paths=Scene::of(&p).paths(&pose,&raster,2).unwrap(); let t1=t.elapsed();
        let s=Exposure::default().expose(&paths,&mut rng); let t2=t.elapsed();
        let sh=Shown::new(&s,Window::automatic(&s),Polarity::DenseDark);
        let t3=t.elapsed();
        println!("{name} cast {t1:?} exposed {t2:?} shown {t3:?}");
        let mut f=std::fs::File::create(format!("{out}_{name}.pgm")).unwrap();
        use std::io::Write; write!(f,"P5 512 512 255\n").unwrap(); f.write_all(&sh.greys).unwrap();
    }
}
